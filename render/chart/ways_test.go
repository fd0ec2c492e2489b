package chart

import (
	"math"
	"testing"

	"gonum.org/v1/plot/vg"
)

// ways are so many of two choices.
func ways(n int, width vg.Length) *Ways {
	s := &Ways{Title: "known minus novel", Unit: "known minus novel, µV", Width: width,
		Choices: []WayChoice{{"reference of all sites", []string{"average", "recorded"}},
			{"window", []string{"150..190ms", "160..180ms"}}}}
	for i := range n {
		v := -float64(n-i) / float64(n)
		s.Ways = append(s.Ways, Way{Value: v, Low: v - 1, High: v + 1, Options: []int{i % 2, i / 2 % 2},
			Strong: i%3 == 0, Marked: i == 1})
	}
	return s
}

func TestWaysRefused(t *testing.T) {
	for name, spoil := range map[string]func(*Ways){
		"one way":           func(s *Ways) { s.Ways = s.Ways[:1] },
		"no choice":         func(s *Ways) { s.Choices = nil },
		"a choice not made": func(s *Ways) { s.Ways[1].Options = []int{0} },
		"a third option":    func(s *Ways) { s.Ways[1].Options = []int{0, 2} },
		"no number":         func(s *Ways) { s.Ways[1].High = math.NaN() },
		"a narrow page":     func(s *Ways) { s.Width = 10 },
	} {
		s := ways(4, 0)
		spoil(s)
		if _, err := s.Compose(); err == nil {
			t.Errorf("%s is no error", name)
		}
	}
	p, err := ways(4, 0).Compose()
	if err != nil || len(p.rows) != 4 {
		t.Errorf("%d rows of four options, %v", len(p.rows), err)
	}
}

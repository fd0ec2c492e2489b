package chart

import (
	"fmt"
	"testing"

	"gonum.org/v1/plot/vg"
)

// shares are so many curves over four numbers.
func shares(curves int, width vg.Length) *Shares {
	s := &Shares{Title: "How often 1 µV is found", X: "people", At: []float64{8, 16, 24, 128}, Level: .8, Width: width}
	for k := range curves {
		of := []float64{.1, .3, .5 + .1*float64(k), 1}
		s.Curves = append(s.Curves, Share{Name: fmt.Sprintf("%d epochs a condition", 30*(k+1)), Value: of, Low: of,
			High: of})
	}
	return s
}

func TestSharesRefused(t *testing.T) {
	for name, spoil := range map[string]func(*Shares){
		"one number":    func(s *Shares) { s.At = s.At[:1] },
		"no curve":      func(s *Shares) { s.Curves = nil },
		"a short curve": func(s *Shares) { s.Curves[0].Low = s.Curves[0].Low[:3] },
		"above 100 %":   func(s *Shares) { s.Curves[1].Value = []float64{0, 0, 0, 1.1} },
		"too many":      func(s *Shares) { s.Curves = shares(40, 0).Curves },
		"a narrow page": func(s *Shares) { s.Width = 10 },
	} {
		s := shares(2, 0)
		spoil(s)
		if _, err := s.Compose(); err == nil {
			t.Errorf("%s is no error", name)
		}
	}
	p, err := shares(2, 0).Compose()
	if err != nil {
		t.Fatal(err)
	}
	// half of a hundred lies in the middle of the axis, whatever the page
	if y, want := p.chart.Point(8, 50).Y, (p.chart.Rect.Min.Y+p.chart.Rect.Max.Y)/2; y-want > .01 || want-y > .01 {
		t.Errorf("50 %% lies at %v, want %v", y, want)
	}
}

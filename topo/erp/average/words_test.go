package average

import (
	"slices"
	"testing"

	"calotte/topo/internal/erptest"
)

func TestExtent(t *testing.T) {
	two := func(a, b Member) []Member { return []Member{a, b} }
	for _, c := range []struct {
		info Info
		want string
	}{
		{Info{Kind: Table}, ""},
		{Info{Kind: Participant, Epochs: &Counts{Kept: 31}}, "1 person, 31 epochs"},
		{Info{Kind: Participant, Epochs: &Counts{Kept: 1}}, "1 person, 1 epoch"},
		{Info{Kind: Participant, Minus: "novel", Members: two(Member{Epochs: 16}, Member{Epochs: 14})},
			"1 person, 16 and 14 epochs"},
		{Info{Kind: Table, Minus: "novel", Members: two(Member{}, Member{Epochs: 14})}, ""},
		{Info{Kind: GrandAverage, Members: two(Member{Epochs: 78}, Member{Epochs: 99})},
			"2 people, 78–99 epochs each"},
		{Info{Kind: GrandAverage, Members: two(Member{Epochs: 80}, Member{Epochs: 80})},
			"2 people, 80 epochs each"},
		{Info{Kind: GrandAverage, Members: two(Member{Epochs: 1}, Member{Epochs: 1})},
			"2 people, 1 epoch each"},
		{Info{Kind: GrandAverage, Members: two(Member{Epochs: 80}, Member{})}, "2 people"},
		{Info{Kind: GrandAverage, Minus: "novel",
			Members: two(Member{Epochs: 31, Minus: 28}, Member{Epochs: 40, Minus: 28})},
			"2 people, 31–40 and 28 epochs each"},
		{Info{Kind: GrandAverage, Minus: "novel",
			Members: two(Member{Epochs: 31}, Member{Epochs: 40, Minus: 28})},
			"2 people"},
	} {
		if got := c.info.Extent(); got != c.want {
			t.Errorf("%+v: %q, want %q", c.info, got, c.want)
		}
	}
}

func TestRemarks(t *testing.T) {
	i := Info{
		Kind: GrandAverage, Weighted: true, Notes: []string{"the parts were filtered differently"},
		Repaired: []string{"F6", "C3"},
		Members:  []Member{{Repaired: []string{"C3"}}, {Repaired: []string{"F6", "C3"}}, {}},
	}
	want := []string{"Repaired by the spline: F6 in 1, C3 in 2 of 3 people.",
		"People are weighted by their epochs.",
		"The parts were filtered differently."}
	if got := i.Remarks(); !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
	i = Info{Kind: Participant, Repaired: []string{"F6"}}
	if got := i.Remarks(); got != nil {
		t.Errorf("%q, want none: the site's mark says it", got)
	}
	i.Mended = Mended{"C3": 1, "T8": 4, "AF3": 1}
	if got := i.Remarks(); !slices.Equal(got, []string{"Repaired in single epochs: T8 in 4, AF3 in 1, C3 in 1."}) {
		t.Errorf("%q", got)
	}
}

func TestBaselineSpan(t *testing.T) {
	if s, ok := (Info{Baseline: "-200..0ms"}).BaselineSpan(); !ok || s != erptest.Span(t, "-200..0ms") {
		t.Errorf("%v, %v", s, ok)
	}
	for _, text := range []string{"", "none"} {
		if _, ok := (Info{Baseline: text}).BaselineSpan(); ok {
			t.Errorf("%q is taken for a range", text)
		}
	}
}

func TestOrNotKnown(t *testing.T) {
	if OrNotKnown("") != "not known" || OrNotKnown("Cz") != "Cz" {
		t.Error("a reference is misnamed")
	}
}

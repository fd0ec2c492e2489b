package chart

import (
	"fmt"
	"image"
	"math"
	"testing"

	"gonum.org/v1/plot/vg"
)

// siteTime is a picture of waves over sites, strong in a corner.
func siteTime(n int) *SiteTime {
	s := &SiteTime{Title: "t of known minus novel", Unit: "t, 11 degrees of freedom", Caption: "Synthetic data."}
	for k := range 60 {
		s.Times = append(s.Times, -.1+.005*float64(k))
	}
	for i := range n {
		s.Sites = append(s.Sites, fmt.Sprintf("S%d", i+1))
		var row []float64
		var strong []bool
		for k := range s.Times {
			row = append(row, 5*math.Sin(float64(k)/8+float64(i)/3))
			strong = append(strong, i < n/2 && k > 30)
		}
		s.Values, s.Strong = append(s.Values, row), append(s.Strong, strong)
	}
	return s
}

// Each sample of each site has its own colour, pale where it is not strong.
func TestSiteTimeColours(t *testing.T) {
	s := siteTime(8)
	p, err := s.Compose()
	if err != nil {
		t.Fatal(err)
	}
	img := p.raster(image.Pt(600, 80), testTable)
	for i := range 8 {
		for k := range 60 {
			of := testTable
			if !s.Strong[i][k] {
				of = testTable.Pale()
			}
			want := of.At(s.Values[i][k] / p.Limit())
			if got := img.At(10*k+5, 10*i+5); got != want {
				t.Fatalf("site %d, sample %d is %v, want %v", i, k, got, want)
			}
		}
	}
	s.Values[0][0] = math.NaN()
	if _, err := s.Compose(); err == nil {
		t.Error("a picture of NaN")
	}
}

// Groups stand below their headings, where nothing is coloured; sites that are
// none of the groups' are an error.
func TestSiteTimeGroups(t *testing.T) {
	s := siteTime(8)
	s.Groups = []Group{{"left", 5}, {"right", 3}}
	p, err := s.Compose()
	if err != nil {
		t.Fatal(err)
	}
	if p.rows.at(0) != -1 || p.rows.at(.9999) != 7 || p.rows.bottom[4] >= p.rows.top[5] {
		t.Errorf("rows from %v to %v", p.rows.top, p.rows.bottom)
	}
	img := p.raster(image.Pt(60, 2000), testTable)
	if _, _, _, alpha := img.At(5, 1).RGBA(); alpha != 0 {
		t.Error("the heading is coloured")
	}
	at := int(2000 * (p.rows.top[6] + p.rows.bottom[6]) / 2)
	if got, want := img.At(3, at), testTable.Pale().At(s.Values[6][3]/p.Limit()); got != want {
		t.Errorf("the seventh site is %v, want %v", got, want)
	}
	s.Groups[1].Sites = 4
	if _, err := s.Compose(); err == nil {
		t.Error("a group of a site that is not there")
	}
}

// The line around what is strong is as long as its edges, and a heading parts
// what stands on both sides of it.
func TestSiteTimeOutline(t *testing.T) {
	s := siteTime(4)
	for _, c := range []struct {
		groups []Group
		lines  int
	}{
		{nil, 2*29 + 2*2},                         // sites 1 and 2, samples 31 to 59, as one
		{[]Group{{"a", 1}, {"b", 3}}, 4*29 + 2*2}, // and as two
	} {
		s.Groups = c.groups
		p, err := s.Compose()
		if err != nil {
			t.Fatal(err)
		}
		lines := 0
		for _, step := range p.outline() {
			if step.Type == vg.LineComp {
				lines++
			}
		}
		if lines != c.lines {
			t.Errorf("groups %v: %d lines, want %d", c.groups, lines, c.lines)
		}
	}
}

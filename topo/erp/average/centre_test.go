package average

import (
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"

	"calotte/topo/erp/epoch"
	"calotte/topo/internal/erptest"
)

// Over people the centre at each site and sample is that of their values, and
// that of right minus left that of each one's own; both are named.
func TestGrandOfCentres(t *testing.T) {
	s := study(t)
	members := s.participants(0)
	for _, c := range []epoch.Centre{epoch.Trimmed, epoch.Median} {
		combined, err := Combination{Name: "pilots", Centre: c}.Of(members)
		if err != nil {
			t.Fatal(err)
		}
		g := combined[0].Average
		for i := range g.Sites {
			for k := range g.Times {
				var values []float64
				for _, m := range members {
					values = append(values, m.Mean[i][k])
				}
				centre, se := c.Of(values)
				if g.Mean[i][k] != centre || g.SEM[i][k] != se {
					t.Errorf("%v, site %d, sample %d: %g ± %g, want %g ± %g", c, i, k, g.Mean[i][k],
						g.SEM[i][k],
						centre, se)
				}
			}
		}
		var own []float64
		for _, m := range members {
			own = append(own, m.Mean[1][0]-m.Mean[0][0])
		}
		if centre, se := c.Of(own); g.Pairs.Mean[0][0] != centre || g.Pairs.SEM[0][0] != se {
			t.Errorf("%v: right minus left %g ± %g, want %g ± %g", c, g.Pairs.Mean[0][0], g.Pairs.SEM[0][0],
				centre,
				se)
		}
		words := CentreWords(c) + " of people"
		if !strings.HasSuffix(g.Info.Extent(), ", "+words) || g.Info.Outer() != c ||
			!strings.Contains(strings.Join(g.Info.Remarks(), " "), "over people, at each sample") {
			t.Errorf("%q, %q", g.Info.Extent(), g.Info.Remarks())
		}
	}
}

func TestCentresRefuse(t *testing.T) {
	s := study(t)
	members := s.participants(0)
	_, err := Combination{Name: "g", Centre: epoch.Trimmed}.Of(members[:4])
	erptest.WantError(t, err, "20 % trimmed mean of 4 people is their mean: expected 5 or more")
	_, err = Combination{Name: "g", Centre: epoch.Median, Weighted: true}.Of(members)
	erptest.WantError(t, err, "weighted in means alone")
	members[2].Info.Centre = "median"
	_, err = Grand("g", members, false)
	erptest.WantError(t, err,
		`is the mean of its epochs, "sub-03" (known) the median: average both with one centre`)
	_, err = members[2].Through(Linear{Sites: members[2].Sites, Weights: mat.NewDense(4, 4, nil)}, nil)
	erptest.WantError(t, err, "it is the median of epochs", "average again with that reference")
}

// A difference of medians has the difference of right minus left that the parts
// have, which is not that of its sites.
func TestDifferenceOfCentres(t *testing.T) {
	s := study(t)
	a, b := s.participants(0)[0], s.participants(1)[0]
	a.Info.Centre, b.Info.Centre = "median", "median"
	a.Pairs.Mean[0][0] += 3
	d, err := Difference(a, b)
	if err != nil {
		t.Fatal(err)
	}
	if want := a.Pairs.Mean[0][0] - b.Pairs.Mean[0][0]; d.Pairs.Mean[0][0] != want || d.Info.Centre != "median" {
		t.Errorf("%g, want %g (%s)", d.Pairs.Mean[0][0], want, d.Info.Centre)
	}
}

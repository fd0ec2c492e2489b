package digitised_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/digitised"
	"calotte/layout/head"
	"calotte/layout/internal/headtest"
)

var plain = digitised.Coordinates{System: "Other", Units: "mm"}

// labelWarnings are those about names.
func labelWarnings(d digitised.Layout) []string {
	return slices.DeleteFunc(slices.Clone(d.Warnings),
		func(w string) bool { return !strings.Contains(w, "labels only") })
}

// Letters and numbers on a real cap: no earlobe on the scalp, no C4 elsewhere,
// and the pairs of the places.
func TestLabelsOfAnotherScheme(t *testing.T) {
	points, c := published(t)
	for i := range points.Sites {
		points.Sites[i].Name = fmt.Sprintf("%c%d", 'A'+i/32, i%32+1)
	}
	d, err := digitised.Digitise(points, c, digitised.Options{})
	if err != nil {
		t.Fatal(err)
	}
	slices.Sort(d.Labels)
	if want := []string{"A1", "A2", "C1", "C2", "C3", "C4", "C5", "C6"}; !slices.Equal(d.Labels, want) {
		t.Errorf("labels %v, want %v", d.Labels, want)
	}
	if w := labelWarnings(d); len(w) != 1 || !strings.Contains(w[0], "another scheme") {
		t.Errorf("%q, want one warning", w)
	}
	found, err := digitised.GeometricPairs(d.Sites, digitised.MirrorTolerance(d.Sites))
	if err != nil || len(found.Pairs) < 29 {
		t.Errorf("%d pairs of 30, %v", len(found.Pairs), err)
	}
}

// Some names of a maker's among those of the system, on caps that sit askew and
// scatter; and names that are right, of caps and electrodes that are not.
func TestLabels(t *testing.T) {
	points, truth := headtest.Digitised(t, head.Sphere(92))
	renamed := func(names map[string]string) []layout.Site {
		out := slices.Clone(points)
		for i, p := range out {
			if n, ok := names[p.Name]; ok {
				out[i].Name = n
			}
		}
		return out
	}
	swapped := map[string]string{}
	for _, s := range truth {
		swapped[s.Name] = string(layout.Name(s.Name).Mirror())
	}
	ears := r3.Sub(points[3].Position, truth[0].Position)
	rng := rand.New(rand.NewPCG(6, 6))
	moved := func(turn r3.Vec) []layout.Site {
		out := slices.Clone(points)
		for i, s := range headtest.Planted(truth, turn, 2, rng) {
			out[3+i].Position = r3.Add(s.Position, ears)
		}
		return out
	}
	for _, c := range []struct {
		text   string
		points []layout.Site
		want   []string
	}{
		{"all in place", points, nil},
		{"n1 and n2 on the left", renamed(map[string]string{"P5": "n1", "CP5": "n2"}), []string{"n2", "n1"}},
		{"earlobes on the scalp", renamed(map[string]string{"FC3": "A1", "FC4": "A2"}), []string{"A1", "A2"}},
		{"askew", moved(r3.Vec{X: 10, Y: -6, Z: 8}), nil},
		{"one plug far off", renamed(map[string]string{"P5": "AF4", "AF4": "Iz", "Iz": "P5"}),
			[]string{"Iz", "AF4", "P5"}},
		{"two exchanged", renamed(map[string]string{"F7": "O2", "O2": "F7"}), nil},
		{"sides exchanged", renamed(swapped), nil},
	} {
		d, err := digitised.Digitise(digitised.Points{Sites: c.points}, plain,
			digitised.Options{Head: head.Sphere(92)})
		if err != nil {
			t.Errorf("%s: %v", c.text, err)
			continue
		}
		if got := d.Labels; !slices.Equal(got, c.want) || len(labelWarnings(d)) != min(1, len(c.want)) {
			t.Errorf("%s: labels %v, want %v; %q", c.text, got, c.want, d.Warnings)
		}
	}
}

package topo

import (
	"math"
	"slices"
	"testing"

	"calotte/layout"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// What one inverse says of every site left out is what the splines without them
// say.
func TestLeftOutMatchesLeavingOut(t *testing.T) {
	sites := sites64(t)
	for _, o := range []Options{{}, {Order: 3, Smoothing: 1e-3}} {
		field, noise, err := build(t, sites, o).leftOut()
		if err != nil {
			t.Fatal(err)
		}
		for i, site := range sites {
			rest := build(t, slices.Delete(slices.Clone(sites), i, i+1), o)
			want, err := rest.Ignorance([]r3.Vec{site.Position})
			if err != nil {
				t.Fatal(err)
			}
			if apart(field[i], want[0].Field) > 1e-6 || apart(noise[i], 1+want[0].Noise) > 1e-6 {
				t.Errorf("%s left out: field %g and noise %g, want %g and %g", site.Name, field[i],
					noise[i],
					want[0].Field, 1+want[0].Noise)
			}
		}
	}
}

// The fits without each site are those of the other sites alone, the nugget to
// within a step of the search, and the variances those at that nugget.
func TestFitsWithoutASiteMatchLeavingOut(t *testing.T) {
	sites, y := sites64(t), noisySheet(t)
	c, err := build(t, sites, Options{}).contrasts()
	if err != nil {
		t.Fatal(err)
	}
	step := math.Log(nuggetAt(1) / nuggetAt(0))
	for i, fit := range c.without(c.of(y)) {
		rest, values := leaveOut(t, sites, y, i)
		rough, err := rest.Roughness(values)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(math.Log(fit.nugget/rough.Nugget)) > .6*step {
			t.Errorf("%s left out: nugget %g, want %g to within a step", sites[i].Name, fit.nugget,
				rough.Nugget)
		}
		alone, err := rest.contrasts()
		if err != nil {
			t.Fatal(err)
		}
		for j, q := range alone.squares(alone.of(values), fit.nugget) {
			if apart(fit.variances[j], q/62) > 1e-6 {
				t.Errorf("%s left out: variance %g, want %g", sites[i].Name, fit.variances[j], q/62)
			}
		}
	}
}

// noisySheet are the four columns of the reference.
func noisySheet(t *testing.T) *mat.Dense {
	_, rows := numpyRows(t, "row")
	y := mat.NewDense(64, 4, nil)
	for i, row := range rows["noisy"] {
		y.SetRow(i, row)
	}
	return y
}

func leaveOut(t *testing.T, sites []layout.Site, y *mat.Dense, out int) (*Spline, *mat.Dense) {
	values := mat.NewDense(len(sites)-1, y.RawMatrix().Cols, nil)
	for i := range sites {
		if i < out {
			values.SetRow(i, y.RawRowView(i))
		} else if i > out {
			values.SetRow(i-1, y.RawRowView(i))
		}
	}
	return build(t, slices.Delete(slices.Clone(sites), out, out+1), Options{}), values
}

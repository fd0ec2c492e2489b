package average

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/topo"
	"calotte/topo/erp/epoch"
	"calotte/topo/erp/internal/list"
	"calotte/topo/erp/internal/matrix"
	"calotte/topo/erp/internal/words"
	"calotte/topo/measure"
)

// A Linear takes the sites of an average to others, or to another reference:
// each of its Sites is a sum of the average's, Weights site × site. Averaging
// is linear, so that it comes out as if it had been done to every epoch.
type Linear struct {
	Sites     []string
	Weights   *mat.Dense
	Reference string // in words; empty: as it was
	Note      string // what is to be said beside the average; empty: nothing
	// Interpolated are the sites, in canonical spelling, at which no
	// electrode was.
	Interpolated []string
	KeepsPairs   bool // right minus left stays as it is
}

// Onto is the way from the sites of an average, at own in the order of its
// columns, to others, by the spherical spline.
func Onto(own, targets []layout.Site, o topo.Options) (Linear, error) {
	spline, err := topo.New(own, o)
	if err != nil {
		return Linear{}, err
	}
	l := Linear{Note: fmt.Sprintf("brought onto %s by the spherical spline of order %d through %s",
		words.Number(len(targets), "site"), o.Order, words.Number(len(own), "site"))}
	spacing := measure.Spacing(positionsOf(own))
	var at []r3.Vec
	var far []string
	for _, t := range targets {
		l.Sites = append(l.Sites, t.Name)
		at = append(at, t.Position)
		angle, nearest := nearestTo(t, own)
		if angle > spacing*(1+1e-9) {
			far = append(far, t.Name)
		}
		if !sameName(own[nearest].Name, t.Name) || angle > samePlace {
			l.Interpolated = append(l.Interpolated, t.Name)
		}
	}
	if far != nil {
		l.Note += "; extrapolated, farther from any electrode than these are from each other: " +
			strings.Join(far,
				" ")
	}
	l.Weights, err = spline.Weights(at, topo.Potential)
	return l, err
}

// samePlace is the angle, in radians, below which an electrode is at a site: a
// tenth of a millimetre on a head.
const samePlace = 1e-3

func positionsOf(sites []layout.Site) []r3.Vec {
	positions := make([]r3.Vec, len(sites))
	for i, s := range sites {
		positions[i] = s.Position
	}
	return positions
}

// nearestTo returns the angle to the nearest of some sites, and its index.
func nearestTo(s layout.Site, sites []layout.Site) (angle float64, index int) {
	angle = math.Inf(1)
	for j, o := range sites {
		a := r3.Unit(s.Position)
		b := r3.Unit(o.Position)
		if d := math.Atan2(r3.Norm(r3.Cross(a, b)), r3.Dot(a, b)); d < angle {
			angle, index = d, j
		}
	}
	return angle, index
}

func sameName(a, b string) bool {
	m, errA := layout.Parse(a)
	n, errB := layout.Parse(b)
	return a == b || errA == nil && errB == nil && m == n
}

// Through takes an average through a linear step. Its standard errors follow
// from the epochs behind it; without them, nil, they are not known, but for
// right minus left where that stays as it is.
func (a *Average) Through(l Linear, epochs *epoch.Collection) (*Average, error) {
	if rows, columns := l.Weights.Dims(); columns != len(a.Sites) || rows != len(l.Sites) {
		return nil, fmt.Errorf("a step from %d to %d sites for an average of %d", columns, rows, len(a.Sites))
	}
	if a.Info.Centres() != "" {
		return nil, a.Info.errNotLinear()
	}
	out := *a
	out.Sites = slices.Clone(l.Sites)
	out.Mean, out.SEM = l.apply(a.Mean), nil
	mirrored := layout.Pairs(out.Sites)
	pairs := Pairs{Names: PairNames(out.Sites)}
	if epochs != nil {
		acc := epoch.NewAccumulator(len(out.Sites)+len(mirrored), len(a.Times))
		difference := matrix.New(len(mirrored), len(a.Times))
		for k := range epochs.Len() {
			samples, _ := epochs.At(k)
			rows := l.apply(samples)
			differences(difference, rows, mirrored)
			acc.Add(append(rows, difference...))
		}
		mean, sem := acc.Mean(), acc.SEM()
		out.Mean, pairs.Mean = mean[:len(out.Sites)], mean[len(out.Sites):]
		if sem != nil {
			out.SEM, pairs.SEM = sem[:len(out.Sites)], sem[len(out.Sites):]
		}
	} else {
		pairs = pairMeans(out.Sites, out.Mean)
		if l.KeepsPairs {
			pairs.SEM = a.Pairs.SEM
		}
	}
	out.Pairs = pairs
	if l.Interpolated != nil {
		out.Info.Repaired = list.AppendNew(slices.Clone(out.Info.Repaired), l.Interpolated...)
	}
	if l.Reference != "" {
		out.Info.Reference = l.Reference
	}
	if l.Note != "" {
		out.Info.Notes = list.AppendNew(slices.Clone(out.Info.Notes), l.Note)
	}
	return &out, nil
}

// apply returns the weighted sums of rows.
func (l Linear) apply(rows [][]float64) [][]float64 {
	out := matrix.New(len(l.Sites), len(rows[0]))
	for i := range out {
		for j, w := range l.Weights.RawRowView(i) {
			if w == 0 {
				continue
			}
			for t, x := range rows[j] {
				out[i][t] += w * x
			}
		}
	}
	return out
}

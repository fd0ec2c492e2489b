package screen

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"calotte/layout"
	"calotte/topo"
	"calotte/topo/measure"
)

// A leftOut knows the errors of leaving one site out of the spline, for data of
// a covariance.
type leftOut struct {
	sites      []layout.Site
	channels   []int         // of each site
	covariance *mat.SymDense // of the channels, in the order of the sites
	operator   *mat.Dense    // site × site: potentials to errors
	expected   []float64     // what the variances are in proportion to by the sites' places alone
}

func (s *Screen) leaveOneOut(channels []int) (*leftOut, error) {
	sites := make([]layout.Site, len(channels))
	for k, i := range channels {
		sites[k] = s.sites[i]
	}
	return newLeftOut(sites, channels, selected(s.covariance, channels))
}

func newLeftOut(sites []layout.Site, channels []int, covariance *mat.SymDense) (*leftOut, error) {
	spline, err := topo.New(sites, topo.Options{Radius: anyRadius})
	if err != nil {
		return nil, err
	}
	n := len(sites)
	unit := mat.NewDense(n, n, nil)
	for i := range n {
		unit.Set(i, i, 1)
	}
	c, err := spline.Solve(unit)
	if err != nil {
		return nil, err
	}
	operator, err := spline.LeaveOneOut(c)
	if err != nil {
		return nil, err
	}
	expected := make([]float64, n)
	for i := range expected {
		expected[i] = 1 / c.At(i, i)
	}
	return &leftOut{sites, channels, covariance, operator, expected}, nil
}

// drop leaves the site of this name out.
func (l *leftOut) drop(name string) (*leftOut, error) {
	var sites []layout.Site
	var channels, kept []int
	for i, site := range l.sites {
		if site.Name != name {
			sites, channels, kept = append(sites, site), append(channels, l.channels[i]), append(kept, i)
		}
	}
	return newLeftOut(sites, channels, selected(l.covariance, kept))
}

// selected returns the covariance of some channels, in a new order.
func selected(covariance *mat.SymDense, channels []int) *mat.SymDense {
	out := mat.NewSymDense(len(channels), nil)
	for a, i := range channels {
		for b, j := range channels[:a+1] {
			out.SetSym(a, b, covariance.At(i, j))
		}
	}
	return out
}

// usual is the median variance of the sites.
func (l *leftOut) usual() float64 {
	v := make([]float64, len(l.sites))
	for i := range v {
		v[i] = l.covariance.At(i, i)
	}
	return measure.Median(v)
}

// spread is Σ Lᵀ, channel × site.
func (l *leftOut) spread() *mat.Dense {
	var out mat.Dense
	out.Mul(mat.DenseCopyOf(l.covariance), l.operator.T())
	return &out
}

// variances are those of the errors, the diagonal of L Σ Lᵀ.
func (l *leftOut) variances() []float64 {
	spread := l.spread()
	v := make([]float64, len(l.sites))
	for i := range v {
		v[i] = errorVariance(mat.Dot(l.operator.RowView(i), spread.ColView(i)), l.covariance.At(i, i))
	}
	return v
}

// errorVariance keeps what rounding may turn negative positive.
func errorVariance(v, site float64) float64 { return max(v, 1e-12*site, math.SmallestNonzeroFloat64) }

// exchanges finds pairs of channels as [Screen] says and puts them right.
func (l *leftOut) exchanges(relief float64) []Mark {
	var marks []Mark
	for len(marks) < len(l.sites)/2 {
		i, j, factor := l.bestExchange()
		if !(factor >= relief) {
			break
		}
		marks = append(marks, Mark{Site: l.sites[i].Name, With: l.sites[j].Name, Reason: Exchanged,
			Value: factor,
			Z:     math.NaN()})
		l.exchange(i, j)
	}
	return marks
}

// bestExchange returns the pair of channels whose exchange lessens the errors
// of all sites most, of those in which each of the two channels is better
// explained in its new place, and the factor by which the variances of the two
// fall; 1 where there is none.
func (l *leftOut) bestExchange() (first, second int, factor float64) {
	n := len(l.sites)
	spread, before := l.spread(), l.variances()
	best, factor := 0.0, 1.0
	changes := make([]float64, n)
	for i := range n {
		for j := range i {
			apart := l.covariance.At(i, i) + l.covariance.At(j, j) - 2*l.covariance.At(i, j)
			total := 0.0
			for k := range n {
				// The row of L with the two weights exchanged
				// is L + δ(eᵢ − eⱼ).
				delta := l.operator.At(k, j) - l.operator.At(k, i)
				after := before[k] + 2*delta*(spread.At(i, k)-spread.At(j, k)) + delta*delta*apart
				changes[k] = math.Log(errorVariance(after, l.covariance.At(k, k)) / before[k])
				total += changes[k]
			}
			// What the channels themselves gain: each is compared
			// with itself in its old place.
			old := math.Log(before[i] / before[j])
			if total < best && changes[i]+old < 0 && changes[j]-old < 0 {
				best, first, second, factor = total, j, i, math.Exp(-(changes[i]+changes[j])/2)
			}
		}
	}
	return first, second, factor
}

// exchange puts two channels in each other's place.
func (l *leftOut) exchange(i, j int) {
	place := make([]int, len(l.sites))
	for k := range place {
		place[k] = k
	}
	place[i], place[j] = j, i
	l.covariance = selected(l.covariance, place)
	l.channels[i], l.channels[j] = l.channels[j], l.channels[i]
}

// anyRadius, in mm, is for splines of the potential, which does not depend on
// it.
const anyRadius = 90

package scalp

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/plot/vg"

	"calotte/render/paper"
	"calotte/topo"
	"calotte/topo/measure"
)

// A site is doubtful on a map where the other sites predict something quite
// different, as at an electrode that has come loose: where the leave-one-out
// residual rᵢ exceeds doubtShare of the map's largest magnitude, and stands out
// among all sites' residuals. They are compared as rᵢ√Bᵢᵢ = √(cᵢrᵢ), because
// the spline, taken as the best linear prediction, expects a residual of
// variance 1/Bᵢᵢ: less of a site among others than of one at the edge. To stand
// out is to exceed doubtSpread times 1.4826 times their median. The numbers are
// this project's own choice.
const (
	doubtShare  = .5
	doubtSpread = 6
	// doubtSites is how many sites it takes to tell a loose electrode from
	// a source that the others do not see.
	doubtSites = 32
	// mostDoubts is how often doubtsOf looks for another site. Where there
	// are more, the map is doubtful.
	mostDoubts = 8
)

// doubts lists the doubtful sites of each column, from what leaving each out
// says.
func doubts(spline *topo.Spline, c *topo.Coefficients, values mat.Matrix, residuals *mat.Dense) ([][]int, error) {
	sites, columns := values.Dims()
	doubtful := make([][]int, columns)
	if sites < doubtSites {
		return doubtful, nil
	}
	var err error
	for column := range doubtful {
		m := fitted{
			values:       mat.Col(nil, column, values),
			residuals:    mat.Col(nil, column, residuals),
			coefficients: mat.Col(nil, column, c)[:sites],
		}
		if doubtful[column], err = m.doubts(spline); err != nil {
			return nil, err
		}
	}
	return doubtful, nil
}

// fitted is one map at its sites.
type fitted struct{ values, residuals, coefficients []float64 }

// doubts takes the worst site first and gives it the value that the others
// predict, which is as good as leaving it out, before it looks for another: a
// loose electrode must not bring its neighbours into doubt.
func (m fitted) doubts(spline *topo.Spline) ([]int, error) {
	var found []int
	for range mostDoubts {
		worst, ok := m.worst()
		if !ok {
			break
		}
		if !slices.Contains(found, worst) { // else its prediction changed with another's
			found = append(found, worst)
		}
		m.values[worst] -= m.residuals[worst]
		c, err := spline.Solve(mat.NewVecDense(len(m.values), m.values))
		if err != nil {
			return nil, err
		}
		residuals, err := spline.LeaveOneOut(c)
		if err != nil {
			return nil, err
		}
		mat.Col(m.residuals, 0, residuals)
		m.coefficients = mat.Col(nil, 0, c)[:len(m.values)]
	}
	slices.Sort(found)
	return found, nil
}

// worst is the doubtful site that stands out most, if any.
func (m fitted) worst() (site int, ok bool) {
	standing := make([]float64, len(m.values))
	largest := 0.
	for i := range standing {
		standing[i] = math.Sqrt(math.Abs(m.coefficients[i] * m.residuals[i]))
		largest = max(largest, math.Abs(m.values[i]))
	}
	limit := doubtSpread * 1.4826 * measure.Median(standing)
	for i, s := range standing {
		if s > limit && math.Abs(m.residuals[i]) > doubtShare*largest {
			limit, site, ok = s, i, true
		}
	}
	return site, ok
}

// rings are drawn around the doubtful sites of a map.
func (p *panel) rings(at Frame, marks []Mark, radius vg.Length) vg.Path {
	var path vg.Path
	for _, i := range p.doubtful {
		if i < len(marks) && at.View.Visible(marks[i].Site.Position) {
			paper.Circle(&path, at.Project(marks[i].Site.Position), ringRadius(radius))
		}
	}
	return path
}

func ringRadius(mark vg.Length) vg.Length { return 2*mark + 1 }

func drawRings(c vg.Canvas, rings vg.Path) {
	paper.Stroke(c, rings, paper.Pale, 1.4)
	paper.Stroke(c, rings, paper.Ink, .6)
}

package render

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/plot/vg"

	"calotte/topo"
)

// A site is doubtful on a map where the other sites predict something quite
// different, as at an electrode that has come loose: the leave-one-out residual
// exceeds both doubtShare of the map's largest magnitude and doubtSpread times
// the residuals' spread, 1.4826 times their median magnitude. The two numbers
// are this project's own choice.
const (
	doubtShare  = .5
	doubtSpread = 6
	// doubtSites is how many sites it takes to speak of a spread.
	doubtSites = 12
)

// mostDoubts is how often doubtsOf looks for another site. Where there are more,
// the map is doubtful.
const mostDoubts = 8

// doubts lists the doubtful sites of each column.
func doubts(spline *topo.Spline, c *topo.Coefficients, values mat.Matrix) ([][]int, error) {
	sites, columns := values.Dims()
	doubtful := make([][]int, columns)
	if sites < doubtSites {
		return doubtful, nil
	}
	residuals, err := spline.LeaveOneOut(c)
	if err != nil {
		return nil, err
	}
	for column := range doubtful {
		of := mat.NewVecDense(sites, mat.Col(nil, column, values))
		if doubtful[column], err = doubtsOf(spline, residuals.ColView(column), of); err != nil {
			return nil, err
		}
	}
	return doubtful, nil
}

// doubtsOf takes the worst site of a map first and gives it the value that the
// others predict, which is as good as leaving it out, before it looks for
// another: a loose electrode must not bring its neighbours into doubt.
func doubtsOf(spline *topo.Spline, residuals mat.Vector, values *mat.VecDense) ([]int, error) {
	var found []int
	for range mostDoubts {
		worst, ok := worstDoubt(residuals, values)
		if !ok {
			break
		}
		if !slices.Contains(found, worst) { // else its prediction changed with another's
			found = append(found, worst)
		}
		values.SetVec(worst, values.AtVec(worst)-residuals.AtVec(worst))
		c, err := spline.Solve(values)
		if err != nil {
			return nil, err
		}
		next, err := spline.LeaveOneOut(c)
		if err != nil {
			return nil, err
		}
		residuals = next.ColView(0)
	}
	slices.Sort(found)
	return found, nil
}

// worstDoubt is the site with the largest residual, if that is large enough.
func worstDoubt(residuals, values mat.Vector) (worst int, ok bool) {
	magnitudes := make([]float64, residuals.Len())
	largest := 0.
	for i := range magnitudes {
		magnitudes[i] = math.Abs(residuals.AtVec(i))
		largest = max(largest, math.Abs(values.AtVec(i)))
		if magnitudes[i] > magnitudes[worst] {
			worst = i
		}
	}
	return worst, magnitudes[worst] > max(doubtShare*largest, doubtSpread*1.4826*median(magnitudes))
}

// median of values, which it leaves in their order.
func median(values []float64) float64 {
	sorted := slices.Sorted(slices.Values(values))
	n := len(sorted)
	return (sorted[(n-1)/2] + sorted[n/2]) / 2
}

// rings are drawn around the doubtful sites of a map.
func (p *panel) rings(at frame, marks []Mark, radius vg.Length) vg.Path {
	var path vg.Path
	for _, i := range p.doubtful {
		if i < len(marks) {
			circle(&path, at.project(marks[i].Site.Position), ringRadius(radius))
		}
	}
	return path
}

func ringRadius(mark vg.Length) vg.Length { return 2*mark + 1 }

func drawRings(c vg.Canvas, rings vg.Path) {
	strokePath(c, rings, pale, 1.4)
	strokePath(c, rings, ink, .6)
}

package average

import (
	"maps"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"calotte/topo/erp/epoch"
	"calotte/topo/unit"
)

// A Gaze is how the wearer looked sideways during the epochs of an average, as
// far as an eye channel, or two sites that stand in for it, show it: where
// people look to one side more in one condition, the dipoles of the eyes make
// an asymmetry that no brain made.
type Gaze struct {
	Source  string `json:"source"`   // "HEOG", or "F8 minus F7"
	StandIn bool   `json:"stand_in"` // sites, in whose signal the brain's is as well
	// Mean is the signal of the epochs' average, and Errors its standard
	// errors, in µV, a sample each; without errors where one epoch was
	// kept.
	Mean   []float64 `json:"mean_uv"`
	Errors []float64 `json:"sem_uv,omitempty"`
	// Weights are by how much each site follows the signal, by its label,
	// in µV a µV: the regression over all samples of the kept epochs, of
	// all conditions, each less the average of its condition.
	Weights map[string]float64 `json:"weights,omitempty"`
	Windows []GazeWindow       `json:"windows,omitempty"`
}

// A GazeWindow is the mean signal in a window.
type GazeWindow struct {
	Window string  `json:"window"`
	Mean   float64 `json:"mean_uv"`
	SEM    float64 `json:"sem_uv"` // over epochs; 0: of one epoch
	N      int     `json:"n"`      // epochs
}

// Minus is the gaze of the difference of two conditions of one person, nil
// where one of the two is not known, or shown by another signal.
func (g *Gaze) Minus(o *Gaze) *Gaze {
	if g == nil || o == nil || g.Source != o.Source || len(g.Mean) != len(o.Mean) {
		return nil
	}
	d := &Gaze{Source: g.Source, StandIn: g.StandIn, Weights: maps.Clone(g.Weights)}
	for t := range g.Mean {
		d.Mean = append(d.Mean, g.Mean[t]-o.Mean[t])
	}
	if len(g.Errors) == len(g.Mean) && len(o.Errors) == len(g.Mean) {
		for t := range g.Errors {
			d.Errors = append(d.Errors, math.Hypot(g.Errors[t], o.Errors[t]))
		}
	}
	for site, w := range d.Weights {
		if other, known := o.Weights[site]; known { // of two runs they differ
			d.Weights[site] = (w + other) / 2
		}
	}
	return d
}

// Times is the gaze of a multiple of an average; nil of nil.
func (g *Gaze) Times(factor float64) *Gaze {
	if g == nil {
		return nil
	}
	out := &Gaze{Source: g.Source, StandIn: g.StandIn, Weights: g.Weights}
	for _, v := range g.Mean {
		out.Mean = append(out.Mean, factor*v)
	}
	for _, v := range g.Errors {
		out.Errors = append(out.Errors, math.Abs(factor)*v)
	}
	return out
}

// Less is the difference of a window's means between two conditions, with its
// 95 % interval for independent epochs whose spread may differ (B. L. Welch,
// Biometrika 34:28, 1947). It is false where one of the two rests on fewer than
// two epochs.
func (w GazeWindow) Less(o GazeWindow) (difference, low, high float64, ok bool) {
	difference = w.Mean - o.Mean
	if w.N < 2 || o.N < 2 || w.SEM+o.SEM == 0 {
		return difference, 0, 0, false
	}
	a, b := w.SEM*w.SEM, o.SEM*o.SEM
	freedom := (a + b) * (a + b) / (a*a/float64(w.N-1) + b*b/float64(o.N-1))
	half := distuv.StudentsT{Sigma: 1, Nu: freedom}.Quantile(.975) * math.Sqrt(a+b)
	return difference, difference - half, difference + half, true
}

// Interval is a window's mean with its 95 % interval by t; false: of one epoch.
func (w GazeWindow) Interval() (mean, low, high float64, ok bool) {
	if w.N < 2 {
		return w.Mean, 0, 0, false
	}
	half := epoch.Mean.HalfInterval(w.N) * w.SEM
	return w.Mean, w.Mean - half, w.Mean + half, true
}

// GazeAt is the sideways signal of an average at a latency, in µV, and its
// standard error, over a window the mean of the samples' errors, which is no
// less than that of the window's mean; NaN where it is not known. It is false
// where nothing is known of the gaze.
func (a *Average) GazeAt(l unit.Latency) (signal, sem float64, ok bool) {
	g := a.Info.Gaze
	if g == nil || len(g.Mean) != len(a.Times) {
		return 0, 0, false
	}
	values, err := a.read([][]float64{g.Mean}, l)
	if err != nil {
		return 0, 0, false
	}
	sem = math.NaN()
	if len(g.Errors) == len(a.Times) {
		if errors, err := a.read([][]float64{g.Errors}, l); err == nil {
			sem = errors[0]
		}
	}
	return values[0], sem, true
}

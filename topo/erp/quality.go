package erp

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"calotte/topo/erp/average"
	"calotte/topo/erp/epoch"
	"calotte/topo/erp/internal/matrix"
	"calotte/topo/erp/internal/stat"
	"calotte/topo/measure"
	"calotte/topo/unit"
)

// Quality says what is measured of each average beside its standard errors.
type Quality struct {
	Windows []unit.Span    // whose mean amplitudes get a measurement error
	Mains   unit.Frequency // whose hum is measured; zero: none
}

// A quality accumulates what a condition's Measured needs.
type quality struct {
	from, to []int // samples of the windows
	scores   *epoch.Accumulator
	row      [][]float64 // the scores of an epoch, site × window
}

func (q Quality) start(sites int, w epoch.Window) (*quality, error) {
	out := &quality{scores: epoch.NewAccumulator(sites, len(q.Windows)), row: matrix.New(sites, len(q.Windows))}
	for _, span := range q.Windows {
		from, to, err := w.Within(span)
		if err != nil {
			return nil, fmt.Errorf("window: %w", err)
		}
		out.from, out.to = append(out.from, from), append(out.to, to)
	}
	return out, nil
}

func (q *quality) add(sites [][]float64) {
	if len(q.from) == 0 {
		return
	}
	for i, row := range sites {
		for k, from := range q.from {
			q.row[i][k] = stat.Mean(row[from:q.to[k]])
		}
	}
	q.scores.Add(q.row)
}

func (q *quality) merge(o *quality) error { return q.scores.Merge(o.scores) }

// report measures an average.
func (q *quality) report(asked Quality, a *average.Average, plusMinus [][]float64,
	clipped map[string]int) *average.Measured {
	m := &average.Measured{PlusMinus: rms(plusMinus), Clipped: maps.Clone(clipped)}
	if errors := q.scores.SEM(); errors != nil {
		for k, span := range asked.Windows {
			w := average.WindowError{Window: span.String()}
			for i := range errors {
				w.Sites = append(w.Sites, errors[i][k])
			}
			w.Worst = slices.Max(w.Sites)
			w.Site = a.Sites[slices.Index(w.Sites, w.Worst)]
			w.Median = measure.Median(w.Sites)
			m.Windows = append(m.Windows, w)
		}
	}
	if asked.Mains > 0 {
		for i, row := range a.Mean {
			hum, err := measure.Hum(row, a.Info.Rate, float64(asked.Mains))
			if err != nil {
				m.Note = "hum is not measured: " + err.Error()
				break
			}
			if hum > m.Hum {
				m.Hum, m.HumSite = hum, a.Sites[i]
			}
		}
	}
	return m
}

// rms is the root mean square of all values, zero of none.
func rms(rows [][]float64) float64 {
	n, squares := 0, 0.0
	for _, row := range rows {
		n += len(row)
		for _, x := range row {
			squares += x * x
		}
	}
	if n == 0 {
		return 0
	}
	return math.Sqrt(squares / float64(n))
}

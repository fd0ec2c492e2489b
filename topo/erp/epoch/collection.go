package epoch

import (
	"fmt"
	"slices"

	"calotte/topo/erp/internal/list"
	"calotte/topo/erp/internal/matrix"
	"calotte/topo/recording"
	"calotte/topo/unit"
)

// A Row says where an epoch comes from and what became of it.
type Row struct {
	Source    string  // base name of the recording
	Onset     float64 // s from the beginning of that recording
	Condition string
	Response  float64 // s from the onset to the response; NaN where there is none
	Kept      bool
	Reason    string   // why it was not kept
	Sites     []string // that are the reason, if any are
	// Event is what the recording says of the event beside its onset: the
	// columns of its table, or the label of an annotation.
	Event recording.Columns
}

// Collection are the epochs of one condition and person, after everything that
// precedes averaging, in the order of time. It holds all that it is given: 8
// bytes a value. Make one with NewEpochs.
type Collection struct {
	Sites  []string
	Window Window
	Rows   []Row // of all epochs, rejected ones too

	kept [][][]float64 // epoch × site × sample, of those kept
	row  []int         // of each of them
}

// NewCollection returns an empty collection.
func NewCollection(sites []string, w Window) *Collection {
	return &Collection{Sites: slices.Clone(sites), Window: w}
}

// Add notes an epoch and, where its row says that it is kept, copies it: site ×
// sample in µV, further rows are left out. A kept epoch of another shape is a
// mistake of the caller's and panics, as in [Accumulator.Add].
func (e *Collection) Add(row Row, samples [][]float64) {
	if row.Kept {
		own := matrix.New(len(e.Sites), e.Window.Len())
		if len(samples) < len(own) {
			panic("epoch: epoch has too few sites")
		}
		for i := range own {
			if copy(own[i], samples[i]) != len(own[i]) || len(samples[i]) != len(own[i]) {
				panic("epoch: epoch has the wrong number of samples")
			}
		}
		e.kept, e.row = append(e.kept, own), append(e.row, len(e.Rows))
	}
	e.Rows = append(e.Rows, row)
}

// Merge adds the epochs of another recording behind.
func (e *Collection) Merge(o *Collection) error {
	if !slices.Equal(e.Sites, o.Sites) || e.Window != o.Window {
		return fmt.Errorf("%d sites × %d samples at %v Hz cannot be joined with %d × %d at %v Hz of "+
			"the same epoch",
			len(o.Sites), o.Window.Len(), o.Window.Rate, len(e.Sites), e.Window.Len(), e.Window.Rate)
	}
	for _, r := range o.row {
		e.row = append(e.row, len(e.Rows)+r)
	}
	e.kept, e.Rows = append(e.kept, o.kept...), append(e.Rows, o.Rows...)
	return nil
}

// Len is the number of epochs kept.
func (e *Collection) Len() int { return len(e.kept) }

// At returns a kept epoch, site × sample, to be read, and its row.
func (e *Collection) At(k int) ([][]float64, Row) { return e.kept[k], e.Rows[e.row[k]] }

// Pick returns the kept epochs with these indexes, in increasing order and each
// once, with their rows only. It shares the samples.
func (e *Collection) Pick(indexes []int) (*Collection, error) {
	out := NewCollection(e.Sites, e.Window)
	for i, k := range indexes {
		if k < 0 || k >= e.Len() || i > 0 && k <= indexes[i-1] {
			return nil, fmt.Errorf("epoch %d of %d: expected increasing indexes from 0", k, e.Len())
		}
		out.kept, out.row = append(out.kept, e.kept[k]), append(out.row, i)
		out.Rows = append(out.Rows, e.Rows[e.row[k]])
	}
	return out, nil
}

// Select returns the same epochs of some sites, by index. It shares the
// samples.
func (e *Collection) Select(sites []int) *Collection {
	out := &Collection{Sites: list.Pick(e.Sites, sites), Window: e.Window, Rows: e.Rows, row: e.row}
	for _, samples := range e.kept {
		out.kept = append(out.kept, list.Pick(samples, sites))
	}
	return out
}

// Accumulate averages the kept epochs: mean and standard error come out as if
// the epochs had been added to an [Accumulator] one by one, to the last bit.
func (e *Collection) Accumulate() *Accumulator {
	a := NewAccumulator(len(e.Sites), e.Window.Len())
	for _, samples := range e.kept {
		a.Add(samples)
	}
	return a
}

// weightedMean writes the mean of the epochs, each counted so many times.
func (e *Collection) weightedMean(to [][]float64, counts []int) {
	total := 0
	for _, row := range to {
		clear(row)
	}
	for k, c := range counts {
		if c == 0 {
			continue
		}
		total += c
		for i, row := range e.kept[k] {
			mean := to[i][:len(row)]
			for t, x := range row {
				mean[t] += float64(c) * x
			}
		}
	}
	for _, row := range to {
		for t := range row {
			row[t] /= float64(total)
		}
	}
}

// Scores returns the mean over the samples from (included) to to (excluded) of
// each kept epoch and site, epoch × site in µV: with to = from+1 the amplitudes
// at a sample.
func (e *Collection) Scores(from, to int) ([][]float64, error) {
	if from < 0 || to > e.Window.Len() || from >= to {
		return nil, fmt.Errorf("samples %d to %d of an epoch of %d: choose some inside", from, to,
			e.Window.Len())
	}
	out := matrix.New(e.Len(), len(e.Sites))
	for k, samples := range e.kept {
		for i, row := range samples {
			sum := 0.0
			for _, x := range row[from:to] {
				sum += x
			}
			out[k][i] = sum / float64(to-from)
		}
	}
	return out, nil
}

// WindowScores are the [Collection.Scores] of the samples in a span about the
// event, both ends included.
func (e *Collection) WindowScores(span unit.Span) ([][]float64, error) {
	from, to, err := e.Window.Within(span)
	if err != nil {
		return nil, err
	}
	return e.Scores(from, to)
}

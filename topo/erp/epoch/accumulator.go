package epoch

import (
	"fmt"
	"math"

	"calotte/topo/erp/internal/matrix"
)

// An Accumulator keeps the mean and the sum of squared deviations of equally
// shaped traces: added one by one (B. P. Welford, "Note on a method for
// calculating corrected sums of squares and products", Technometrics 4:419,
// 1962) or merged from parts (Chan, Golub & LeVeque, "Updating formulae and a
// pairwise algorithm for computing sample variances", Stanford STAN-CS-79-773,
// 1979; both from memory). Neither subtracts large numbers that are nearly
// equal. Make one with NewAccumulator.
type Accumulator struct {
	rows, samples int
	n             int
	mean, m2      []float64 // row after row, µV and µV²; nil while empty
}

// NewAccumulator returns an empty accumulator of traces with the given number
// of rows and samples. It takes memory when the first trace comes.
func NewAccumulator(rows, samples int) *Accumulator {
	return &Accumulator{rows: rows, samples: samples}
}

// start takes the memory, once.
func (a *Accumulator) start() {
	if a.mean == nil {
		a.mean = make([]float64, a.rows*a.samples)
		a.m2 = make([]float64, a.rows*a.samples)
	}
}

// N is how many traces were added.
func (a *Accumulator) N() int { return a.n }

// Add takes one trace, rows × samples. A shape other than the accumulator's is
// a mistake of the caller's and panics, as in package mat.
func (a *Accumulator) Add(trace [][]float64) {
	a.begin(trace, a.rows)
	for i, row := range trace {
		a.addRow(i, row)
	}
}

// begin counts a trace and checks the shape of the rows of it that are at hand.
func (a *Accumulator) begin(trace [][]float64, rows int) {
	if len(trace) != rows {
		panic("epoch: trace has the wrong number of rows")
	}
	for _, row := range trace {
		if len(row) != a.samples {
			panic("epoch: trace has the wrong number of samples")
		}
	}
	a.start()
	a.n++
}

// addRow takes the i-th row of the trace that was begun.
func (a *Accumulator) addRow(i int, row []float64) {
	share := 1 / float64(a.n)
	mean := a.mean[i*a.samples:][:len(row)]
	m2 := a.m2[i*a.samples:][:len(row)]
	for j, x := range row {
		d := x - mean[j]
		mean[j] += d * share
		m2[j] += d * (x - mean[j])
	}
}

// addDifference is addRow of one row minus another.
func (a *Accumulator) addDifference(i int, right, left []float64) {
	share := 1 / float64(a.n)
	left = left[:len(right)]
	mean := a.mean[i*a.samples:][:len(right)]
	m2 := a.m2[i*a.samples:][:len(right)]
	for j, r := range right {
		x := r - left[j]
		d := x - mean[j]
		mean[j] += d * share
		m2[j] += d * (x - mean[j])
	}
}

// Merge adds all that b holds, as if its traces had been added one by one:
//
//	n = nₐ + n_b,  d = x̄_b − x̄ₐ,  x̄ = x̄ₐ + d·n_b/n,  M = Mₐ + M_b + d²·nₐ·n_b/n
//
// with M the sum of squared deviations.
func (a *Accumulator) Merge(b *Accumulator) error {
	if a.rows != b.rows || a.samples != b.samples {
		return fmt.Errorf("%d × %d values cannot be merged with %d × %d", b.rows, b.samples, a.rows, a.samples)
	}
	if b.n == 0 {
		return nil
	}
	a.start()
	if a.n == 0 {
		a.n = b.n
		copy(a.mean, b.mean)
		copy(a.m2, b.m2)
		return nil
	}
	n := a.n + b.n
	share := float64(b.n) / float64(n)
	cross := float64(a.n) * share
	for k := range a.mean {
		d := b.mean[k] - a.mean[k]
		a.mean[k] += d * share
		a.m2[k] += b.m2[k] + d*d*cross
	}
	a.n = n
	return nil
}

// Mean returns a copy of the mean, rows × samples; zero when nothing was added.
func (a *Accumulator) Mean() [][]float64 {
	return a.table(func(k int) float64 { return a.mean[k] })
}

// SEM returns the standard error of the mean, sd/√n, rows × samples, or nil
// when fewer than two traces were added.
func (a *Accumulator) SEM() [][]float64 {
	if a.n < 2 {
		return nil
	}
	n := float64(a.n)
	return a.table(func(k int) float64 { return math.Sqrt(a.m2[k] / (n * (n - 1))) })
}

func (a *Accumulator) table(value func(k int) float64) [][]float64 {
	rows := matrix.New(a.rows, a.samples)
	for k := range a.mean {
		rows[k/a.samples][k%a.samples] = value(k)
	}
	return rows
}

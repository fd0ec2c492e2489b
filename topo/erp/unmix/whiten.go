package unmix

import (
	"errors"
	"math"
	"sync"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/mat"
)

// chunkSamples are the samples that are worked on together: few enough to stay
// in the processor's memory, and a fixed number, so that sums do not depend on
// how many processors there are.
const chunkSamples = 1024

// emptyShare is the share of the largest variance below which a direction holds
// nothing but rounding.
const emptyShare = 1e-9

// A whitened is data of uncorrelated rows of variance one, in chunks.
type whitened struct {
	chunks  []blas64.General // dimension × sample
	samples int
	rank    int
	whole   int        // dimensions that hold something, of which rank are kept
	forth   *mat.Dense // dimension × row: from µV
	back    *mat.Dense // row × dimension: to µV
	scratch sync.Pool  // of *scratch
	octave  *octave
}

// A scratch is memory for the work on a chunk, dimension × sample.
type scratch struct{ y, bent blas64.General }

// whiten brings rows to most dimensions at most (0: as many as there are),
// those of the largest variance, and of those only such whose variance is above
// the floor, µV².
func whiten(data [][]float64, most int, floor float64) (*whitened, error) {
	rows, n := len(data), len(data[0])
	means := make([]float64, rows)
	for i, row := range data {
		for _, x := range row {
			means[i] += x
		}
		means[i] /= float64(n)
		if math.IsNaN(means[i]) || math.IsInf(means[i], 0) {
			return nil, errors.New("the data hold a value that is no number: leave that stretch out")
		}
	}
	centred := func(chunk int) blas64.General {
		first := chunk * chunkSamples
		c := general(rows, min(chunkSamples, n-first))
		for i, row := range data {
			for t, x := range row[first:][:c.Cols] {
				c.Data[i*c.Stride+t] = x - means[i]
			}
		}
		return c
	}
	count := (n + chunkSamples - 1) / chunkSamples
	partial := make([]blas64.General, count)
	eachChunk(count, func(k int) {
		partial[k] = productsOf(centred(k))
	})
	w := &whitened{samples: n, octave: newOctave(), chunks: make([]blas64.General, count)}
	if err := w.directions(covariance(partial, float64(n)), most, floor); err != nil {
		return nil, err
	}
	w.scratch.New = func() any {
		return &scratch{general(w.rank, chunkSamples), general(w.rank, chunkSamples)}
	}
	eachChunk(count, func(k int) {
		c := centred(k)
		w.chunks[k] = general(w.rank, c.Cols)
		blas64.Gemm(blas.NoTrans, blas.NoTrans, 1, w.forth.RawMatrix(), c, 0, w.chunks[k])
	})
	return w, nil
}

// productsOf sums the products of a chunk's rows.
func productsOf(c blas64.General) blas64.General {
	p := general(c.Rows, c.Rows)
	blas64.Gemm(blas.NoTrans, blas.Trans, 1, c, c, 0, p)
	return p
}

// covariance is the mean of the samples' products out of their sums by chunk.
func covariance(parts []blas64.General, samples float64) *mat.SymDense {
	rows := parts[0].Rows
	sum := general(rows, rows)
	for _, p := range parts {
		for i, x := range p.Data {
			sum.Data[i] += x
		}
	}
	c := mat.NewSymDense(rows, nil)
	for i := range rows {
		for j := range i + 1 {
			c.SetSym(i, j, sum.Data[i*rows+j]/samples)
		}
	}
	return c
}

// directions finds those that hold something, largest first.
func (w *whitened) directions(covariance *mat.SymDense, most int, floor float64) error {
	var eigen mat.EigenSym
	if !eigen.Factorize(covariance, true) {
		return errors.New("the data's covariance has no directions: a row is not finite")
	}
	values, rows := eigen.Values(nil), covariance.SymmetricDim()
	var vectors mat.Dense
	eigen.VectorsTo(&vectors)
	least := max(floor, emptyShare*values[rows-1])
	for w.whole < rows && values[rows-1-w.whole] > least {
		w.whole++
	}
	w.rank = w.whole
	if most > 0 {
		w.rank = min(w.whole, most)
	}
	if w.rank < 2 {
		return errors.New("the data have fewer than two dimensions: nothing to take apart")
	}
	w.forth, w.back = mat.NewDense(w.rank, rows, nil), mat.NewDense(rows, w.rank, nil)
	for d := range w.rank {
		at := rows - 1 - d
		sd := math.Sqrt(values[at])
		for i := range rows {
			w.forth.Set(d, i, vectors.At(i, at)/sd)
			w.back.Set(i, d, vectors.At(i, at)*sd)
		}
	}
	return nil
}

func general(rows, columns int) blas64.General {
	return blas64.General{Rows: rows, Cols: columns, Stride: columns, Data: make([]float64, rows*columns)}
}

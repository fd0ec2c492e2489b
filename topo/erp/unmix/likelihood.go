package unmix

import (
	"math"
	"runtime"
	"sync/atomic"

	"golang.org/x/sync/errgroup"
	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/mat"
)

// A point is the likelihood at weights, see the package's comment.
type point struct {
	weights  *mat.Dense
	loss     float64    // minus the log likelihood of a sample
	gradient *mat.Dense // for a relative change of the weights
	hessian  *mat.Dense // hᵢⱼ = E[φ′(yᵢ)]·E[yⱼ²], and on the diagonal E[φ′(yᵢ) yᵢ²]
	stable   []float64  // E[sech² y]·E[y²] − E[y tanh y]; its sign is that of the density
}

// norm is the root of the mean square of the gradient's elements.
func (p *point) norm() float64 { return mat.Norm(p.gradient, 2) / float64(len(p.stable)) }

// sums are what the likelihood needs of the data.
type sums struct {
	products blas64.General // tanh(yᵢ) yⱼ
	slope    []float64      // sech² yᵢ
	curve    []float64      // sech²(yᵢ) yᵢ²
	cosh     []float64      // log cosh yᵢ
}

// A sample is every so many chunks of the data.
type sample struct {
	*whitened
	of         []blas64.General
	covariance *mat.SymDense
	size       float64 // in samples of the recording
}

// sample takes every so many chunks. All of them are white, some of them
// nearly.
func (w *whitened) sample(every int) *sample {
	s := &sample{whitened: w}
	for k := 0; k < len(w.chunks); k += every {
		s.of = append(s.of, w.chunks[k])
		s.size += float64(w.chunks[k].Cols)
	}
	parts := make([]blas64.General, len(s.of))
	eachChunk(len(s.of), func(k int) { parts[k] = productsOf(s.of[k]) })
	s.covariance = covariance(parts, s.size)
	return s
}

// at evaluates the likelihood under densities of the signs.
func (s *sample) at(weights *mat.Dense, signs []float64) *point {
	n := s.rank
	parts := make([]sums, len(s.of))
	eachChunk(len(s.of), func(k int) { parts[k] = s.sum(weights, s.of[k]) })
	total := newSums(n)
	for _, part := range parts {
		addTo(total.products.Data, part.products.Data)
		addTo(total.slope, part.slope)
		addTo(total.curve, part.curve)
		addTo(total.cosh, part.cosh)
	}
	p := &point{weights: weights, gradient: mat.NewDense(n, n, nil), hessian: mat.NewDense(n, n, nil),
		stable: make([]float64, n)}
	p.gradient.Product(weights, s.covariance, weights.T())
	power := make([]float64, n)
	for i := range n {
		power[i] = p.gradient.At(i, i)
	}
	logDet, _ := mat.LogDet(weights)
	p.loss = -logDet
	for i := range n {
		slope := total.slope[i] / s.size
		p.loss += power[i]/2 + signs[i]*total.cosh[i]/s.size
		p.stable[i] = slope*power[i] - total.products.Data[i*n+i]/s.size
		for j := range n {
			p.gradient.Set(i, j, p.gradient.At(i, j)+signs[i]*total.products.Data[i*n+j]/s.size)
			p.hessian.Set(i, j, (1+signs[i]*slope)*power[j])
		}
		p.gradient.Set(i, i, p.gradient.At(i, i)-1)
		p.hessian.Set(i, i, power[i]+signs[i]*total.curve[i]/s.size)
	}
	return p
}

func newSums(n int) sums {
	return sums{general(n, n), make([]float64, n), make([]float64, n), make([]float64, n)}
}

// sum passes over one chunk.
func (w *whitened) sum(weights *mat.Dense, x blas64.General) sums {
	work := w.scratch.Get().(*scratch)
	defer w.scratch.Put(work)
	y, bent := work.y, work.bent
	y.Cols, bent.Cols = x.Cols, x.Cols
	s := newSums(w.rank)
	for i := range w.rank {
		blas64.Gemv(blas.Trans, 1, x, row(weights.RawMatrix(), i), 0, row(y, i))
		s.slope[i], s.curve[i], s.cosh[i] = w.octave.bend(row(bent, i).Data, row(y, i).Data)
	}
	for i := range w.rank {
		blas64.Gemv(blas.NoTrans, 1, y, row(bent, i), 0, row(s.products, i))
	}
	return s
}

// row is one of a matrix, as a vector. Products of matrices go row by row, since
// those of a matrix and a vector take a third less time.
func row(m blas64.General, i int) blas64.Vector {
	return blas64.Vector{N: m.Cols, Inc: 1, Data: m.Data[i*m.Stride:][:m.Cols]}
}

// bend writes tanh y, and returns the sums of sech² y, of sech²(y) y² and of
// log cosh y. The logarithm is taken of a product, as it would take most of the
// time.
func (o *octave) bend(to, y []float64) (slope, curve, cosh float64) {
	to = to[:len(y)]
	product := 1.0
	for t, v := range y {
		size := math.Abs(v)
		e := o.falling(2 * size)
		bent := (1 - e) / (1 + e)
		to[t] = math.Copysign(bent, v)
		s := 1 - bent*bent
		slope += s
		curve += s * v * v
		cosh += size
		product *= 1 + e // in (1, 2]
		if product > 1e300 {
			cosh += math.Log(product)
			product = 1
		}
	}
	return slope, curve, cosh + math.Log(product) - math.Ln2*float64(len(y))
}

func addTo(sum, part []float64) {
	for i, x := range part {
		sum[i] += x
	}
}

// eachChunk does the work of all chunks on as many processors as there are, in
// any order.
func eachChunk(n int, work func(k int)) {
	var group errgroup.Group
	var next atomic.Int64
	for range min(n, runtime.GOMAXPROCS(0)) {
		group.Go(func() error {
			for k := int(next.Add(1)) - 1; k < n; k = int(next.Add(1)) - 1 {
				work(k)
			}
			return nil
		})
	}
	group.Wait()
}

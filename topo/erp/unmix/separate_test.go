package unmix

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"

	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/mat"

	"calotte/topo/internal/erptest"
)

// The likelihood and its gradient are those of plain numpy.
func TestLikelihood(t *testing.T) {
	m := readMixture(t)
	known := sources(t)
	for i, row := range m.First {
		for k, want := range row {
			if !erptest.Near(known[i][k], want, 1e-9) {
				t.Fatalf("source %d, sample %d: %v, want %v", i, k, known[i][k], want)
			}
		}
	}
	raw := &whitened{rank: 8, octave: newOctave()}
	raw.scratch.New = func() any { return &scratch{general(8, mixtureSamples), general(8, mixtureSamples)} }
	raw.chunks = []blas64.General{dense(mix(m.Mixing, known)).RawMatrix()}
	p := raw.sample(1).at(dense(m.Near), m.Signs)
	if !erptest.Near(p.loss, m.Loss, 1e-10) {
		t.Errorf("loss %v, want %v", p.loss, m.Loss)
	}
	for i, row := range m.Gradient {
		for j, want := range row {
			if got := p.gradient.At(i, j); !erptest.Near(got, want, 1e-10) {
				t.Errorf("gradient %d, %d: %v, want %v", i, j, got, want)
			}
		}
	}
}

func TestFalling(t *testing.T) {
	o := newOctave()
	for x := 0.0; x < 700; x += 0.0137 {
		want := math.Exp(-x)
		if x >= 690 {
			want = 0
		}
		if got := o.falling(x); math.Abs(got-want) > 2e-13*want {
			t.Fatalf("exp(-%v) = %v, want %v", x, got, want)
		}
	}
	if got := o.falling(math.NaN()); got != 0 {
		t.Errorf("of no number: %v", got)
	}
}

// Eight known sources are found: peaked and flat ones, as a general-purpose
// optimiser that starts at the truth finds them.
func TestMixturesOfKnownSources(t *testing.T) {
	m := readMixture(t)
	data := mix(m.Mixing, sources(t))
	s, err := Separate(context.Background(), data, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if !s.Reached || s.Gradient > s.Wanted || s.Few() {
		t.Errorf("reached %v with a gradient of %v", s.Reached, s.Gradient)
	}
	distance := amari(s.Weights, dense(m.Mixing))
	t.Logf("Amari distance %.5f in %d steps, of the optimum %.5f", distance, s.Steps, m.Amari)
	if distance > 0.02 || math.Abs(distance-m.Amari) > 1e-4 {
		t.Errorf("Amari distance %v, want %v", distance, m.Amari)
	}
	for k := range 8 {
		row := mat.Row(nil, k, s.Weights)
		closest := 0.0
		for _, want := range m.Rows {
			along := mat.Dot(mat.NewVecDense(8, row), mat.NewVecDense(8, want))
			closest = max(closest, math.Abs(along)/mat.Norm(mat.NewVecDense(8, row), 2))
		}
		if closest < 1-1e-6 { // the descent stops a twentieth of the sampling error away
			t.Errorf("component %d is none of the reference: %v", k, closest)
		}
	}
	checkUnits(t, s, data)
}

// checkUnits holds components to what the package's comment says of them.
func checkUnits(t *testing.T, s *Separation, data [][]float64) {
	t.Helper()
	var product mat.Dense
	product.Mul(s.Weights, s.Maps)
	n, _ := product.Dims()
	last := math.Inf(1)
	for k := range n {
		for j := range n {
			want := 0.0
			if j == k {
				want = 1
			}
			if !erptest.Near(product.At(k, j), want, 1e-9) {
				t.Errorf("weights times maps at %d, %d: %v", k, j, product.At(k, j))
			}
		}
		power, variance, mean := 0.0, 0.0, 0.0
		column := mat.Col(nil, k, s.Maps)
		for i, x := range column {
			power += x * x
			for j := range column {
				c := covarianceOf(data[i], data[j])
				variance += s.Weights.At(k, i) * c * s.Weights.At(k, j)
			}
			mean = max(mean, x)
		}
		if !erptest.Near(variance, 1, 1e-9) {
			t.Errorf("component %d has a variance of %v", k, variance)
		}
		if power > last*(1+1e-12) || mean != slices.Max(column) || mean < -slices.Min(column) {
			t.Errorf("component %d: power %v after %v, map %v", k, power, last, column)
		}
		last = power
	}
}

func covarianceOf(a, b []float64) float64 {
	n, sum, ma, mb := float64(len(a)), 0.0, 0.0, 0.0
	for k := range a {
		sum, ma, mb = sum+a[k]*b[k]/n, ma+a[k]/n, mb+b[k]/n
	}
	return sum - ma*mb
}

// Other starts lead to the same components.
func TestRestartsAgree(t *testing.T) {
	m := readMixture(t)
	data := mix(m.Mixing, sources(t))
	first, err := Separate(context.Background(), data, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for seed := range uint64(3) {
		rng := rand.New(rand.NewPCG(seed, 1))
		start := mat.NewDense(8, 8, nil)
		for i := range 8 {
			for j := range 8 {
				start.Set(i, j, rng.NormFloat64())
			}
		}
		var qr mat.QR
		qr.Factorize(start)
		var q mat.Dense
		qr.QTo(&q)
		s, err := Separate(context.Background(), data, Options{start: &q})
		if err != nil {
			t.Fatal(err)
		}
		var apart mat.Dense
		apart.Sub(s.Weights, first.Weights)
		if far := mat.Max(&apart) - mat.Min(&apart); far > 1e-4 {
			t.Errorf("seed %d: weights are up to %.2g apart", seed, far)
		}
	}
}

// Rows against their own average, and a row that is a sum of others, have fewer
// dimensions; what is left over stays out of the weights.
func TestRankIsFound(t *testing.T) {
	m := readMixture(t)
	data := mix(m.Mixing, sources(t))
	for k := range data[0] {
		mean := 0.0
		for _, row := range data {
			mean += row[k] / 8
		}
		for _, row := range data {
			row[k] -= mean
		}
		data[3][k] = data[1][k] - 0.5*data[2][k]
	}
	s, err := Separate(context.Background(), data, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if n, rows := s.Weights.Dims(); n != 7 || rows != 8 {
		// The average has lost its sense with row 3, which costs a
		// dimension of its own.
		t.Errorf("%d × %d weights, want 7 of 8", n, rows)
	}
	checkUnits(t, s, data)
	if s, err = Separate(context.Background(), data, Options{Components: 4}); err != nil {
		t.Fatal(err)
	}
	if n, _ := s.Weights.Dims(); n != 4 {
		t.Errorf("%d components, want the 4 that were asked for", n)
	}
	if s, err = Separate(context.Background(), data, Options{Floor: 0.2}); err != nil {
		t.Fatal(err)
	}
	if n, _ := s.Weights.Dims(); n >= 7 {
		t.Errorf("%d components above a floor", n)
	}
}

// The same bytes for one processor and for several.
func TestProcessorsDoNotMatter(t *testing.T) {
	m := readMixture(t)
	data := mix(m.Mixing, sources(t))
	var all [2]*Separation
	for k, processors := range []int{1, 4} {
		before := runtime.GOMAXPROCS(processors)
		s, err := Separate(context.Background(), data, Options{})
		runtime.GOMAXPROCS(before)
		if err != nil {
			t.Fatal(err)
		}
		all[k] = s
	}
	if !mat.Equal(all[0].Weights, all[1].Weights) {
		t.Error("weights differ")
	}
}

func TestSeparateRefuses(t *testing.T) {
	noise := func(rows, samples int) [][]float64 {
		rng := rand.New(rand.NewPCG(1, 1))
		data := make([][]float64, rows)
		for i := range data {
			data[i] = make([]float64, samples)
			for k := range data[i] {
				data[i][k] = rng.NormFloat64()
			}
		}
		return data
	}
	hole := noise(4, 1000)
	hole[2][500] = math.NaN()
	same := noise(2, 1000)
	copy(same[1], same[0])
	for want, data := range map[string][][]float64{
		"400 samples are too few for 10 components, expected 500 or more (5 times their square): ask for 8 " +
			"or fewer, or add recordings": noise(10, 400),
		"no number":                 hole,
		"fewer than two dimensions": same,
		"1 sites":                   noise(1, 100),
		"0 sites":                   nil,
	} {
		_, err := Separate(context.Background(), data, Options{})
		erptest.WantError(t, err, want)
	}
	s, err := Separate(context.Background(), noise(10, 1999), Options{})
	if err != nil || !s.Few() {
		t.Errorf("20 times the square: few %v, %v", s.Few(), err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Separate(ctx, noise(4, 1000), Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
}

// 64 sites of ten minutes at 250 Hz: seconds on the clock of one run.
func BenchmarkSeparate(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 2))
	const rows, samples = 64, 150_000
	mixing, known := make([][]float64, rows), make([][]float64, rows)
	for i := range known {
		mixing[i], known[i] = make([]float64, rows), make([]float64, samples)
		for j := range mixing[i] {
			mixing[i][j] = rng.NormFloat64()
		}
		for k := range known[i] {
			u := rng.NormFloat64()
			known[i][k] = u + 0.1*float64(1+i%8)*u*u*u
		}
	}
	data := mix(mixing, known)
	for b.Loop() {
		s, err := Separate(context.Background(), data, Options{})
		if err != nil || !s.Reached {
			b.Fatalf("%v, gradient %v", err, s.Gradient)
		}
		b.ReportMetric(float64(s.Steps), "steps/op")
	}
}

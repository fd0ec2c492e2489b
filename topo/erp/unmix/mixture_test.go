package unmix

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"

	"calotte/topo/internal/erptest"
)

// mixture is the reference of testdata/erp/unmix.py.
type mixture struct {
	Signs    []float64
	Mixing   [][]float64
	Near     [][]float64
	Loss     float64
	Gradient [][]float64
	First    [][]float64 // samples of the sources
	Least    float64
	Amari    float64
	Rows     [][]float64
}

func readMixture(t *testing.T) (m mixture) {
	t.Helper()
	erptest.ReadJSON(t, "unmix.json", &m)
	return m
}

const mixtureSamples = 20000

// uniform is a number in (0, 1) by splitmix64 of a counter.
func uniform(stream, k int) float64 {
	z := (uint64(k+1) + uint64(stream)<<32) * 0x9E3779B97F4A7C15
	z = (z ^ z>>30) * 0xBF58476D1CE4E5B9
	z = (z ^ z>>27) * 0x94D049BB133111EB
	z ^= z >> 31
	return (float64(z>>11) + 0.5) / (1 << 53)
}

func laplace(u float64) float64 {
	return -math.Copysign(1, u-0.5) * math.Log(1-2*math.Abs(u-0.5))
}

// source is a sample of a source before its mean and size are set.
func source(i, k int) float64 {
	t := float64(k)
	switch i {
	case 0:
		return laplace(uniform(1, k))
	case 1:
		return uniform(2, k) - 0.5
	case 2:
		return math.Sin(0.0731 * t)
	case 3:
		return math.Mod(t*0.01379, 1) - 0.5
	case 4:
		return map[bool]float64{true: -1, false: 1}[uniform(3, k) < 0.5] + 0.6*(uniform(4, k)-0.5)
	case 5:
		sum := -6.0
		for j := range 12 {
			sum += uniform(20+j, k)
		}
		return sum * sum * sum
	case 6:
		return laplace(uniform(5, k)) * math.Pow(1+math.Sin(0.002*t), 2)
	default:
		return math.Log(uniform(6, k) / (1 - uniform(6, k)))
	}
}

// sources are the known ones, of mean zero and variance one.
func sources(t *testing.T) [][]float64 {
	t.Helper()
	rows := make([][]float64, 8)
	for i := range rows {
		rows[i] = make([]float64, mixtureSamples)
		mean, power := 0.0, 0.0
		for k := range rows[i] {
			rows[i][k] = source(i, k)
			mean += rows[i][k] / mixtureSamples
		}
		for k := range rows[i] {
			rows[i][k] -= mean
			power += rows[i][k] * rows[i][k] / mixtureSamples
		}
		for k := range rows[i] {
			rows[i][k] /= math.Sqrt(power)
		}
	}
	return rows
}

// mix is the mixing times the sources.
func mix(mixing, sources [][]float64) [][]float64 {
	rows := make([][]float64, len(mixing))
	for i := range rows {
		rows[i] = make([]float64, len(sources[0]))
		for j, s := range sources {
			for k, x := range s {
				rows[i][k] += mixing[i][j] * x
			}
		}
	}
	return rows
}

func dense(rows [][]float64) *mat.Dense {
	m := mat.NewDense(len(rows), len(rows[0]), nil)
	for i, row := range rows {
		m.SetRow(i, row)
	}
	return m
}

// amari is how far weights times mixing are from a permutation: 0 it is one, 1
// all elements are alike.
func amari(weights, mixing *mat.Dense) float64 {
	var p mat.Dense
	p.Mul(weights, mixing)
	n, _ := p.Dims()
	total := 0.0
	for _, m := range []mat.Matrix{&p, p.T()} {
		for i := range n {
			sum, most := 0.0, 0.0
			for j := range n {
				sum += math.Abs(m.At(i, j))
				most = max(most, math.Abs(m.At(i, j)))
			}
			total += sum/most - 1
		}
	}
	return total / float64(2*n*(n-1))
}

package topo

import (
	"math"
	"sync"
)

// A table holds one kernel K_q as polynomials in u = (1−x)/2, which is the
// squared chord between two points over 4.
//
// K_q is analytic in u except at u = 0, where it behaves as u^{q−1} log u, so
// pieces shrink towards 0: every octave [2⁻ᵏ, 2¹⁻ᵏ) is cut into eight equal
// ones, and a polynomial of degree 8 in z ∈ [−1, 1) meets the kernel at the
// nine Chebyshev nodes of each. Sign, exponent and leading bits of u are the
// piece's number: looking one up takes a shift, and no logarithm.
//
// Its error is bounded as follows. Carrying the Legendre equation
// −(u(1−u)K_q′)′ = K_{q−1} around the cut along negative u gives, for 4πK_q,
//
//	K_q′(u) = −∫₀^∞ μ_q(s)/(s+u) ds    0 ≤ μ_q(s) ≤ log^{q−2}(1+s) / ((q−2)!(1+s)) ≤ 1
//
// (q = 2: K₂′ = log u/(1−u), μ₂ = 1/(1+s); then s(1+s)μ_q = ∫₀^s∫₀^t μ_{q−1}).
// Hence |K_q⁽⁹⁾(u)| ≤ 7!·u⁻⁸·max μ_q, and interpolation at nine Chebyshev nodes
// on [a, 9a/8], half width a/16, errs by at most
//
//	7!·a⁻⁸ · (a/16)⁹ / (2⁸·9!) = a/(16⁹·2⁸·72) < 8e-16·a
//
// with a ≤ 15/16: less than rounding. Below the lowest octave the table is the
// tangent at u = 0, slope −4πK_{q−1}(1), or the constant for q = 2. That errs
// by at most ∫₀ᵘ log(1/t)/(1−t) dt < 9e-15 for q = 2 below 2⁻⁵²;
// u²(½log(1/u)+¾) < 4e-14 for q = 3 below 2⁻²⁴, where K₃″ ≤ log(1/u)/(1−u); and
// less for q > 3, where K_q″ ≤ ζ(q−2) − ζ(q−1). Over 4πK_q(1), which is 1.0,
// 0.40, 0.19, 0.09, 0.05 for q = 2 to 6, all of this stays below 1e-13. The
// tail that the series leaves out (see tolerance) is passed on multiplied by at
// most 2.4, the Lebesgue constant of nine Chebyshev nodes: together below
// 6e-13.
type table struct {
	floor     float64 // lowest u with a piece
	top       float64 // K_q at u = 0
	slope     float64 // dK_q/du there
	first     int     // number of the lowest piece
	polynomes [][nodes]float64
}

const (
	nodes       = 9
	octaveBits  = 3
	octave      = 1 << octaveBits // pieces
	fractionLen = 52 - octaveBits // bits of u below the piece's number
)

// tables holds one table for each exponent, built when first used.
var tables = [highestExponent + 1]func() *table{
	2: lazily(2), 3: lazily(3), 4: lazily(4), 5: lazily(5), 6: lazily(6),
}

func lazily(q int) func() *table {
	return sync.OnceValue(func() *table { return newTable(q) })
}

func newTable(q int) *table {
	t := &table{floor: 0x1p-24, top: kernel(q, 1)}
	if q == 2 {
		t.floor = 0x1p-52
	} else {
		t.slope = -kernel(q-1, 1)
	}
	t.first = pieceOf(t.floor)
	count := pieceOf(1) - t.first
	t.polynomes = make([][nodes]float64, count, count+1)
	chebyshev := chebyshevNodes()

	values := make([]float64, octave*nodes)
	for start := 0; start < count; start += octave {
		for k := range octave {
			low := math.Float64frombits(uint64(t.first+start+k) << fractionLen)
			high := math.Float64frombits(uint64(t.first+start+k+1) << fractionLen)
			for i, z := range chebyshev {
				values[k*nodes+i] = 1 - ((high + low) + z*(high-low)) // x = 1 − 2u
			}
		}
		kernels(q, values)
		for k := range octave {
			t.polynomes[start+k] = interpolate(chebyshev, values[k*nodes:][:nodes])
		}
	}
	// u = 1, and the last bit that rounding may put on top of it.
	t.polynomes = append(t.polynomes, [nodes]float64{kernel(q, -1)})
	return t
}

func pieceOf(u float64) int { return int(math.Float64bits(u) >> fractionLen) }

// evaluate replaces cosines between unit vectors by kernel values. A NaN stays.
func (t *table) evaluate(x []float64) {
	const one = 0x3ff << 52
	last := len(t.polynomes) - 1
	for i, c := range x {
		u := (1 - c) / 2
		if !(u >= t.floor) {
			x[i] = t.top + t.slope*u
			continue
		}
		bits := math.Float64bits(u)
		p := &t.polynomes[min(int(bits>>fractionLen)-t.first, last)]
		z := 2*octave*math.Float64frombits(bits&(1<<fractionLen-1)|one) - (2*octave + 1)
		x[i] = p[0] + z*(p[1]+z*(p[2]+z*(p[3]+z*(p[4]+z*(p[5]+z*(p[6]+z*(p[7]+z*p[8])))))))
	}
}

func chebyshevNodes() (z [nodes]float64) {
	for i := range z {
		z[i] = math.Cos(math.Pi * (float64(i) + 0.5) / nodes)
	}
	return z
}

// interpolate returns the coefficients of the polynomial through the values at
// the nodes z, lowest power first, by Newton's divided differences.
func interpolate(z [nodes]float64, values []float64) (p [nodes]float64) {
	differences := [nodes]float64(values)
	for level := 1; level < nodes; level++ {
		for i := nodes - 1; i >= level; i-- {
			differences[i] = (differences[i] - differences[i-1]) / (z[i] - z[i-level])
		}
	}
	for i := nodes - 1; i >= 0; i-- { // p ← p·(z − zᵢ) + differenceᵢ
		for k := nodes - 1; k > 0; k-- {
			p[k] = p[k-1] - z[i]*p[k]
		}
		p[0] = differences[i] - z[i]*p[0]
	}
	return p
}

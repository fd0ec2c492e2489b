package forward

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// A Shell is one tissue: its outer radius in mm and its conductivity in S/m.
type Shell struct {
	Name         string
	Radius       float64
	Conductivity float64
}

// A Sphere is a head of concentric shells, innermost first.
type Sphere []Shell

// ThreeShells returns brain, skull and scalp scaled to the given outer radius
// in mm. Radii 80, 85 and 92 mm and a skull 80 times less conductive than brain
// and scalp: S. Rush and D. A. Driscoll, Anesth Analg 47:717 (1968), from
// memory; 0.33 S/m for brain and scalp is common practice, no source.
func ThreeShells(radius float64) Sphere {
	return Sphere{
		{"brain", 80, 0.33},
		{"skull", 85, 0.33 / 80},
		{"scalp", 92, 0.33},
	}.scaled(radius)
}

// FourShells returns brain, cerebrospinal fluid, skull and scalp scaled to the
// given outer radius in mm. Radii 79, 80, 85 and 90 mm and conductivities 0.3,
// 1.5, 0.015 and 0.3 S/m: S. Næss et al., "Corrected four-sphere head model for
// EEG signals", Front Hum Neurosci 11:490 (2017), after P. L. Nunez and
// R. Srinivasan, "Electric Fields of the Brain" (2006); from memory.
func FourShells(radius float64) Sphere {
	return Sphere{
		{"brain", 79, 0.3},
		{"cerebrospinal fluid", 80, 1.5},
		{"skull", 85, 0.015},
		{"scalp", 90, 0.3},
	}.scaled(radius)
}

// Radius returns the outer radius in mm, 0 for no shells.
func (s Sphere) Radius() float64 {
	if len(s) == 0 {
		return 0
	}
	return s[len(s)-1].Radius
}

func (s Sphere) scaled(radius float64) Sphere {
	factor := radius / s.Radius()
	for i := range s {
		s[i].Radius *= factor
	}
	s[len(s)-1].Radius = radius
	return s
}

// Validate says what is wrong with the shells, if anything: there must be one
// at least, radii must grow, and all numbers must be positive and finite.
func (s Sphere) Validate() error {
	if len(s) == 0 {
		return fmt.Errorf("a head of no shells: give at least one")
	}
	inner := 0.0
	for i, shell := range s {
		if !(shell.Radius > inner) || math.IsInf(shell.Radius, 0) {
			return fmt.Errorf("shell %d (%s) has radius %.4g mm: expected a finite number above %.4g mm; "+
				"list shells "+
				"from the inside out",
				i+1, shell.Name, shell.Radius, inner)
		}
		if !(shell.Conductivity > 0) || math.IsInf(shell.Conductivity, 0) {
			return fmt.Errorf("shell %d (%s) has conductivity %.4g S/m: expected a finite number above 0",
				i+1,
				shell.Name, shell.Conductivity)
		}
		inner = shell.Radius
	}
	return nil
}

// deepest is the largest |r₀|/R the series is summed for: beyond it the terms
// fall by less than 1 % each and thousands would be needed.
const deepest = 0.99

// Potentials returns the potentials in µV, sensors × dipoles. Sensors are
// directions: each is projected radially onto the outermost surface. Dipoles
// must lie within the innermost shell and within 99 % of the outer radius.
//
// Rounding leaves about 1e-15 of the largest potential that a dipole causes
// anywhere, up to 6e-15 right under the skull; the series' truncation far less.
func (s Sphere) Potentials(dipoles []Dipole, sensors []r3.Vec) (*mat.Dense, error) {
	if err := s.Validate(); err != nil {
		return nil, err
	}
	directions, err := check(dipoles, sensors, math.Min(s[0].Radius, deepest*s.Radius()))
	if err != nil {
		return nil, err
	}
	farthest := 0.0
	for _, d := range dipoles {
		farthest = math.Max(farthest, r3.Norm(d.Position))
	}
	factors := s.factors(farthest / s.Radius())

	potentials := mat.NewDense(len(sensors), len(dipoles), nil)
	for j, d := range dipoles {
		l := s.lead(d, factors)
		for i, e := range directions {
			potentials.Set(i, j, l.at(e))
		}
	}
	return potentials, nil
}

// factors returns fₙ of the package comment at index n−1, for every degree that
// matters at eccentricity t.
func (s Sphere) factors(t float64) []float64 {
	var f []float64
	for !spent(f, t) {
		f = append(f, s.factor(len(f)+1))
	}
	return f
}

// spent reports whether the degrees after the given factors leave less than
// 1e-17 of the first term. As |Pₙ′| ≤ n(n+1)/2, the two sums of degree n hold
// at most fₙtⁿ⁻¹n(n+1), and once n > 4/(1−t) that falls by √t or faster from
// degree to degree, so the rest is below the last over 1 − √t.
func spent(factors []float64, t float64) bool {
	n := float64(len(factors))
	if n <= 4/(1-t) {
		return false
	}
	last := factors[len(factors)-1] * math.Pow(t, n-1) * n * (n + 1)
	return last <= 1e-17*factors[0]*(1-math.Sqrt(t))
}

// factor returns fₙ. In shell j degree n of the potential is bⱼ(r⁻ⁿ⁻¹ + aⱼrⁿ).
// Let ρ = aⱼr²ⁿ⁺¹ at the shell's outer radius, and ρ′ the same number of the
// next shell out at that radius, which is its inner one. No current leaves the
// outermost shell: there ρ = (n+1)/n. Across the boundary potential and radial
// current are continuous; with s the outer conductivity over the inner one,
//
//	ρ = [ρ′(sn + n+1) + (n+1)(1−s)] / δ    bⱼ₊₁/bⱼ = (1+ρ)/(1+ρ′) = (2n+1)/δ
//	δ = ρ′n(1−s) + n + s(n+1)
//
// The dipole fixes b₁ and the surface potential is b(1 + (n+1)/n)R⁻ⁿ⁻¹ with the
// outermost b, so fₙ is (2n+1)/n times the product of those ratios.
func (s Sphere) factor(degree int) float64 {
	n := float64(degree)
	f := (2*n + 1) / n
	rho := (n + 1) / n
	for j := len(s) - 2; j >= 0; j-- {
		ratio := s[j+1].Conductivity / s[j].Conductivity
		within := rho * math.Pow(s[j].Radius/s[j+1].Radius, 2*n+1)
		delta := within*n*(1-ratio) + n + ratio*(n+1)
		rho = (within*(ratio*n+n+1) + (n+1)*(1-ratio)) / delta
		f *= (2*n + 1) / delta
	}
	return f
}

// A lead is one dipole's series, ready for any sensor direction.
type lead struct {
	position, moment r3.Vec    // unit vector to the dipole; moment
	weights          []float64 // fₙtⁿ⁻¹ for n = 1…
	scale            float64   // µV
}

func (s Sphere) lead(d Dipole, factors []float64) lead {
	radius, distance := s.Radius(), r3.Norm(d.Position)
	l := lead{moment: d.Moment, scale: microvolts / (4 * math.Pi * s[0].Conductivity * radius * radius)}
	if distance > 0 {
		l.position = r3.Scale(1/distance, d.Position)
	}
	t := distance / radius
	power := 1.0
	for n := 0; !spent(factors[:n], t); n++ {
		l.weights = append(l.weights, factors[n]*power)
		power *= t
	}
	return l
}

// at sums the series for the unit vector e. With σ the sign of x and y = |x|,
// Pₙ′(x) = σⁿ⁻¹Pₙ′(y), and the series is
//
//	q·(e − σp) Σ σⁿ⁻¹fₙtⁿ⁻¹Pₙ′(y)  +  q·σp Σ σⁿ⁻¹fₙtⁿ⁻¹(Pₙ′(y) − Pₙ₋₁′(y))
//
// with p the unit vector to the dipole. The recurrence runs over the
// differences Δₙ in the second sum, (n−1)Δₙ = nΔₙ₋₁ − (2n−1)(1−y)Pₙ₋₁′, and
// takes 1 − y from the distance of the two directions. The usual recurrence in
// y loses three digits above the dipole, where the potential is largest.
func (l lead) at(e r3.Vec) float64 {
	sign := math.Copysign(1, r3.Dot(e, l.position))
	position := r3.Scale(sign, l.position)
	apart := r3.Sub(e, position)
	versine := r3.Norm2(apart) / 2 // 1 − y

	across, along, flip := 0.0, 0.0, 1.0
	slope, step := 1.0, 1.0 // Pₙ′ and Δₙ
	for i, w := range l.weights {
		w *= flip
		across += w * slope
		along += w * step
		n := float64(i + 2)
		step = (n*step - (2*n-1)*versine*slope) / (n - 1)
		slope += step
		flip *= sign
	}
	return l.scale * (across*r3.Dot(l.moment, apart) + along*r3.Dot(l.moment, position))
}

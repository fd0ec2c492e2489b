package forward

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// A Dipole is a point current source: Position in mm from the centre of the
// spheres, Moment in nA·m, both along the head's axes.
type Dipole struct {
	Position, Moment r3.Vec
}

// microvolts turns nA·m/(S/m · mm²) into µV.
const microvolts = 1e3

// Homogeneous returns the potentials in µV, sensors × dipoles, on a sphere of
// one conductivity (S/m) and the given radius (mm). Sensors are directions:
// each is projected radially onto the sphere. With d = r − r₀ and D = |d|,
//
//	V = q·{ 2d/D³ + (r/R + d/D)/(R² − r·r₀ + R·D) } / (4πσ)
//
// which sums the series of the package comment for fₙ = (2n+1)/n.
func Homogeneous(radius, conductivity float64, dipoles []Dipole, sensors []r3.Vec) (*mat.Dense, error) {
	if err := (Sphere{{Radius: radius, Conductivity: conductivity}}).Validate(); err != nil {
		return nil, err
	}
	directions, err := check(dipoles, sensors, radius)
	if err != nil {
		return nil, err
	}
	potentials := mat.NewDense(len(sensors), len(dipoles), nil)
	for i, e := range directions {
		r := r3.Scale(radius, e)
		for j, s := range dipoles {
			d := r3.Sub(r, s.Position)
			distance := r3.Norm(d)
			primary := r3.Scale(2/(distance*distance*distance), d)
			boundary := r3.Scale(1/(radius*radius-r3.Dot(r, s.Position)+radius*distance),
				r3.Add(e, r3.Scale(1/distance, d)))
			v := r3.Dot(s.Moment, r3.Add(primary, boundary))
			potentials.Set(i, j, microvolts*v/(4*math.Pi*conductivity))
		}
	}
	return potentials, nil
}

// check returns the unit vectors to the sensors, or what is wrong with the
// first unusable sensor or dipole. Every dipole must lie within the limit, mm.
func check(dipoles []Dipole, sensors []r3.Vec, limit float64) ([]r3.Vec, error) {
	if len(dipoles) == 0 || len(sensors) == 0 {
		return nil, fmt.Errorf("%d dipoles and %d sensors: give at least one of each", len(dipoles),
			len(sensors))
	}
	for j, d := range dipoles {
		if !finite(d.Position) || !finite(d.Moment) {
			return nil, fmt.Errorf("dipole %d: position %v, moment %v: expected finite numbers", j+1,
				d.Position,
				d.Moment)
		}
		if depth := r3.Norm(d.Position); depth >= limit {
			return nil, fmt.Errorf("dipole %d is %.4g mm from the centre: expected less than %.4g mm, "+
				"move it inwards",
				j+1, depth, limit)
		}
	}
	directions := make([]r3.Vec, len(sensors))
	for i, p := range sensors {
		length := r3.Norm(p)
		if !finite(p) || length == 0 {
			return nil, fmt.Errorf("sensor %d is at %v: expected a finite position away from the centre",
				i+1,
				p)
		}
		directions[i] = r3.Scale(1/length, p)
	}
	return directions, nil
}

func finite(v r3.Vec) bool {
	return !math.IsNaN(v.X+v.Y+v.Z) && !math.IsInf(v.X+v.Y+v.Z, 0)
}

package capcheck

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout/digitised"
	"calotte/layout/head"
	"calotte/layout/internal/headtest"
)

// The planted turn comes back, and the stated error is that of the runs: 5°
// about each axis, 3 mm of scatter in each coordinate, 64 sites, 1,000 runs.
func TestCapTurnIsUnbiased(t *testing.T) {
	const runs = 1000
	ideal := headtest.Cap64(t, head.Sphere(head.Default().Radius()))
	rng := rand.New(rand.NewPCG(5, 3))
	for axis, turn := range []r3.Vec{{X: 5}, {Y: 5}, {Z: 5}} {
		var sum, square, stated [3]float64
		for range runs {
			c, err := CheckSites(ideal, headtest.Planted(ideal, turn, 3, rng), Options{})
			if err != nil {
				t.Fatal(err)
			}
			for i, a := range []Angle{c.Turn.Pitch, c.Turn.Roll, c.Turn.Yaw} {
				off := a.Degrees - [3]float64{turn.X, turn.Y, turn.Z}[i]
				sum[i] += off
				square[i] += off * off
				stated[i] += a.Error * a.Error
			}
		}
		for i := range 3 {
			mean := sum[i] / runs
			sd := math.Sqrt((square[i] - runs*mean*mean) / (runs - 1))
			claim := math.Sqrt(stated[i] / runs)
			t.Logf("5° about axis %d, angle %d: mean error %+.4f°, sd %.3f°, stated %.3f°", axis, i, mean,
				sd,
				claim)
			if math.Abs(mean) > 3*claim/math.Sqrt(runs) {
				t.Errorf("angle %d is off by %g° in the mean, beyond 3 of its errors, %g°", i, mean,
					claim/math.Sqrt(runs))
			}
			// The relative error of a standard deviation of 1,000
			// is 2.2 %.
			if math.Abs(sd/claim-1) > 0.07 {
				t.Errorf("angle %d scatters by %g°, stated %g°", i, sd, claim)
			}
		}
	}
}

// The whole way from the digitiser: landmarks that scatter turn everything, and
// the stated error knows.
func TestDigitisedCapStatesItsError(t *testing.T) {
	const runs = 400
	model := head.Sphere(head.Default().Radius())
	points, truth := headtest.Digitised(t, model)
	ears := r3.Sub(truth[0].Position, points[3].Position)
	rng := rand.New(rand.NewPCG(7, 7))
	for _, scatter := range []float64{0.001, 1, 2} {
		var sum, square, stated [3]float64
		for range runs {
			all := append(headtest.Planted(points[:3], r3.Vec{}, scatter, rng),
				headtest.Planted(truth, r3.Vec{X: 5}, 3, rng)...)
			for i := range truth {
				all[3+i].Position = r3.Sub(all[3+i].Position, ears)
			}
			d, err := digitised.Digitise(digitised.Points{Sites: all},
				digitised.Coordinates{System: "Other", Units: "mm"},
				digitised.Options{Head: model, LandmarkError: scatter})
			if err != nil {
				t.Fatal(err)
			}
			c, err := CheckSites(truth, d.Sites, Options{Head: model, Axes: d.AxesCovariance})
			if err != nil {
				t.Fatal(err)
			}
			for i, a := range []Angle{c.Turn.Pitch, c.Turn.Roll, c.Turn.Yaw} {
				off := a.Degrees - [3]float64{5, 0, 0}[i]
				sum[i] += off
				square[i] += off * off
				stated[i] += a.Error * a.Error
			}
		}
		for i := range 3 {
			mean, claim := sum[i]/runs, math.Sqrt(stated[i]/runs)
			sd := math.Sqrt((square[i] - runs*mean*mean) / (runs - 1))
			t.Logf("landmarks ± %g mm, angle %d: mean error %+.3f°, sd %.3f°, stated %.3f°", scatter, i,
				mean,
				sd,
				claim)
			// Nine means are looked at: one in 1,700 seeds goes
			// beyond four errors.
			if math.Abs(mean) > 4*claim/math.Sqrt(runs) || math.Abs(sd/claim-1) > 0.11 {
				t.Errorf("landmarks ± %g mm, angle %d: off by %g° in the mean, scattered by %g°, "+
					"stated %g°",
					scatter,
					i, mean, sd, claim)
			}
		}
	}
}

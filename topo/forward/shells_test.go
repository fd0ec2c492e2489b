package forward

import (
	"bufio"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

var references = map[string]Sphere{
	"one":   {{"", 90, 0.33}},
	"three": ThreeShells(92),
	"four":  FourShells(90),
}

// The file was made by mpmath from the boundary conditions at 60 digits.
func TestPotentialsMatchTheBoundaryConditions(t *testing.T) {
	f, err := os.Open("../../testdata/forward/potentials.tsv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines := bufio.NewScanner(f)
	lines.Scan()
	rows, worst := 0, map[string]float64{}
	for ; lines.Scan(); rows++ {
		var d Dipole
		var sensor r3.Vec
		var model string
		var want float64
		if _, err := fmt.Sscan(lines.Text(), &model, &d.Position.X, &d.Position.Y, &d.Position.Z,
			&d.Moment.X, &d.Moment.Y, &d.Moment.Z, &sensor.X, &sensor.Y, &sensor.Z, &want); err != nil {
			t.Fatal(err)
		}
		got := potentials(t, references[model], []Dipole{d}, []r3.Vec{sensor})
		size := largest(t, references[model], d)
		worst[model] = math.Max(worst[model], math.Abs(got.At(0, 0)-want)/size)
		if model == "one" {
			closed, err := Homogeneous(90, 0.33, []Dipole{d}, []r3.Vec{sensor})
			if err != nil {
				t.Fatal(err)
			}
			worst["closed form"] = math.Max(worst["closed form"], math.Abs(closed.At(0, 0)-want)/size)
		}
	}
	if rows != 90 {
		t.Errorf("%d reference rows, want 90", rows)
	}
	for model, relative := range worst {
		t.Logf("%s: worst error %.1e of the dipole's largest potential", model, relative)
		if relative > 2e-15 {
			t.Errorf("%s: error %.2g of the largest potential, want at most 2e-15", model, relative)
		}
	}
}

// largest is the largest absolute potential the dipole causes at sensors spread
// over the sphere and right above it.
func largest(t *testing.T, s Sphere, d Dipole) float64 {
	sensors := spread(100)
	if r3.Norm(d.Position) > 0 {
		sensors = append(sensors, d.Position)
	}
	return mat.Norm(potentials(t, s, []Dipole{d}, sensors), math.Inf(1))
}

// Rounding |r₀|/R once moves degree n by n parts in 2⁵³, and degrees up to
// about 3/(1−t) matter: deep dipoles agree to 2e-15, those under the skull to
// 6e-15.
func TestEqualConductivitiesReachTheClosedForm(t *testing.T) {
	sphere := Sphere{{"", 79, 0.3}, {"", 80, 0.3}, {"", 85, 0.3}, {"", 90, 0.3}}
	sensors := spread(200)
	for eccentricity, allowed := range map[float64]float64{
		0: 2e-15, 0.1: 2e-15, 0.3: 2e-15, 0.5: 2e-15, 0.6: 2e-15, 0.7: 6e-15, 0.8: 6e-15, 0.87: 6e-15,
	} {
		for _, direction := range spread(12) {
			d := Dipole{r3.Scale(90*eccentricity, direction), r3.Vec{X: 3, Y: -7, Z: 5}}
			series := potentials(t, sphere, []Dipole{d}, sensors)
			closed, err := Homogeneous(90, 0.3, []Dipole{d}, sensors)
			if err != nil {
				t.Fatal(err)
			}
			var difference mat.Dense
			difference.Sub(series, closed)
			relative := mat.Norm(&difference, math.Inf(1)) / mat.Norm(closed, math.Inf(1))
			if relative > allowed {
				t.Errorf("eccentricity %g: series and closed form differ by %.2g of the largest, "+
					"want at most %g",
					eccentricity, relative, allowed)
			}
		}
	}
}

// Sending current into the head between two sensors makes a field that follows
// from the inside outwards, without any dipole. Its value along the moment is
// the voltage the dipole causes between the two (Helmholtz's reciprocity).
func TestReciprocity(t *testing.T) {
	for name, sphere := range references {
		d := Dipole{r3.Vec{X: 20, Y: -35, Z: 41}, r3.Vec{X: 4, Y: 9, Z: -2}}
		a, b := r3.Unit(r3.Vec{X: 1, Y: -1, Z: 2}), r3.Unit(r3.Vec{Y: 3, Z: -1})
		v := potentials(t, sphere, []Dipole{d}, []r3.Vec{a, b})
		field := func(p r3.Vec) float64 { return injected(sphere, p, a) - injected(sphere, p, b) }
		const h = 1e-3 // mm
		gradient := r3.Gradient(d.Position, r3.Vec{X: h, Y: h, Z: h}, field)
		want := microvolts * r3.Dot(d.Moment, gradient)
		if got := v.At(0, 0) - v.At(1, 0); math.Abs(got-want) > 1e-8*math.Abs(want) {
			t.Errorf("%s: %.12g µV, by reciprocity %.12g µV", name, got, want)
		}
	}
}

// injected is the potential at p inside the innermost shell for unit current
// entering the outer surface at e (a constant and its return left out).
func injected(s Sphere, p, e r3.Vec) float64 {
	sum, before, now := 0.0, 1.0, r3.Dot(p, e)
	for n := 1.0; n < 250; n++ {
		up, down := 1.0, 0.0 // coefficients of (r/r₁)ⁿ and (r/r₁)⁻ⁿ⁻¹
		for j := range s[:len(s)-1] {
			value, flux := up+down, (n*up-(n+1)*down)*s[j].Conductivity/s[j+1].Conductivity
			up, down = ((n+1)*value+flux)/(2*n+1), (n*value-flux)/(2*n+1)
			step := s[j+1].Radius / s[j].Radius
			up, down = up*math.Pow(step, n), down*math.Pow(step, -n-1)
		}
		outer := s[len(s)-1]
		flux := outer.Conductivity * (n*up - (n+1)*down) / outer.Radius
		source := (2*n + 1) / (4 * math.Pi * outer.Radius * outer.Radius)
		sum += source / flux * now / math.Pow(s[0].Radius, n)
		before, now = now, ((2*n+1)*r3.Dot(p, e)*now-n*r3.Norm2(p)*before)/(n+1)
	}
	return sum
}

func TestPotentialsTurnWithTheHead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		number := rapid.Float64Range(-40, 40)
		vector := func(name string) r3.Vec {
			return r3.Vec{X: number.Draw(t, name), Y: number.Draw(t, name), Z: number.Draw(t, name)}
		}
		d := Dipole{vector("position"), vector("moment")}
		turn := r3.NewRotation(rapid.Float64Range(0, 6).Draw(t, "angle"),
			r3.Add(vector("axis"), r3.Vec{X: 100}))
		sensors := spread(20)
		turned := make([]r3.Vec, len(sensors))
		for i, p := range sensors {
			turned[i] = turn.Rotate(p)
		}
		sphere := FourShells(90)
		before, err := sphere.Potentials([]Dipole{d}, sensors)
		if err != nil {
			t.Fatal(err)
		}
		after, err := sphere.Potentials([]Dipole{{turn.Rotate(d.Position), turn.Rotate(d.Moment)}}, turned)
		if err != nil {
			t.Fatal(err)
		}
		var difference mat.Dense
		difference.Sub(before, after)
		if mat.Norm(&difference, math.Inf(1)) > 1e-12*mat.Norm(before, math.Inf(1)) {
			t.Fatalf("turning the head changed %v to %v", mat.Formatted(before), mat.Formatted(after))
		}
	})
}

// An insulating skull lets nothing through: three shells fall to zero with it,
// in proportion once it is thin in conductivity.
func TestSkullShields(t *testing.T) {
	d := []Dipole{{r3.Vec{Z: 60}, r3.Vec{X: 5, Z: 10}}}
	strength := func(skull float64) float64 {
		s := ThreeShells(92)
		s[1].Conductivity = skull
		return mat.Norm(potentials(t, s, d, spread(50)), 2)
	}
	if ratio := strength(1e-9) / strength(1e-10); math.Abs(ratio-10) > 1e-4 {
		t.Errorf("ten times the skull's conductivity gives %.6f times the potential, want 10", ratio)
	}
}

func TestRefusals(t *testing.T) {
	good, ahead := Dipole{Moment: r3.Vec{X: 1}}, []r3.Vec{{Y: 1}}
	for _, c := range []struct {
		name    string
		sphere  Sphere
		dipoles []Dipole
		sensors []r3.Vec
		want    string
	}{
		{"no shells", nil, []Dipole{good}, ahead, "no shells"},
		{"order", Sphere{{"scalp", 90, 1}, {"brain", 80, 1}}, []Dipole{good}, ahead,
			"shell 2 (brain) has radius 80 mm"},
		{"insulator", Sphere{{"brain", 80, 0}}, []Dipole{good}, ahead, "conductivity 0 S/m"},
		{"outside", ThreeShells(92), []Dipole{good, {Position: r3.Vec{Z: 81}}}, ahead,
			"dipole 2 is 81 mm from the centre: expected less than 80 mm"},
		{"infinite", ThreeShells(92), []Dipole{{Moment: r3.Vec{X: math.Inf(1)}}}, ahead, "dipole 1"},
		{"centre", ThreeShells(92), []Dipole{good}, []r3.Vec{{}}, "sensor 1"},
		{"none", ThreeShells(92), nil, ahead, "0 dipoles and 1 sensors"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if _, err := c.sphere.Potentials(c.dipoles, c.sensors); err == nil ||
				!strings.Contains(err.Error(), c.want) {
				t.Errorf("got %v, want an error with %q", err, c.want)
			}
		})
	}
}

func potentials(t *testing.T, s Sphere, dipoles []Dipole, sensors []r3.Vec) *mat.Dense {
	t.Helper()
	v, err := s.Potentials(dipoles, sensors)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// spread returns unit vectors evenly over the sphere, on a golden spiral.
func spread(count int) []r3.Vec {
	points := make([]r3.Vec, count)
	for i := range points {
		z := 1 - (2*float64(i)+1)/float64(count)
		angle := math.Pi * (3 - math.Sqrt(5)) * float64(i)
		points[i] = r3.Vec{X: math.Sqrt(1-z*z) * math.Cos(angle), Y: math.Sqrt(1-z*z) * math.Sin(angle), Z: z}
	}
	return points
}

func ExampleSphere_Potentials() {
	head := FourShells(90)
	dipole := Dipole{Position: r3.Vec{X: 45, Y: -40, Z: 10}, Moment: r3.Vec{X: 20, Y: -20}}
	v, err := head.Potentials([]Dipole{dipole}, []r3.Vec{{X: 1}, {X: -1}})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("right %.2f µV, left %.2f µV\n", v.At(0, 0), v.At(1, 0))
	// Output: right 1.39 µV, left -1.12 µV
}

func BenchmarkPotentials(b *testing.B) {
	sphere, sensors := FourShells(90), spread(345)
	dipoles := make([]Dipole, 20)
	for i, p := range spread(len(dipoles)) {
		dipoles[i] = Dipole{r3.Scale(65, p), r3.Vec{X: 1}}
	}
	for b.Loop() {
		if _, err := sphere.Potentials(dipoles, sensors); err != nil {
			b.Fatal(err)
		}
	}
}

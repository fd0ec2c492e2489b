package average

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"calotte/topo/internal/erptest"
	"calotte/topo/unit"
)

// course is an average of one site from 0 s on at 100 Hz.
func course(values ...float64) *Average {
	a := &Average{Sites: []string{"Cz"}, Mean: [][]float64{values}}
	for i := range values {
		a.Times = append(a.Times, float64(i)/100)
	}
	return a
}

// scipy's CubicSpline with bc_type not-a-knot (testdata/erp/cubic.py).
func TestCubicAgainstScipy(t *testing.T) {
	var cases []struct{ Knots, Values, Times, Want []float64 }
	erptest.ReadJSON(t, "cubic.json", &cases)
	worst := 0.0
	for _, c := range cases {
		a := &Average{Sites: []string{"Cz"}, Times: c.Knots, Mean: [][]float64{c.Values}}
		for k, at := range c.Times {
			worst = max(worst, math.Abs(cubicAt(c.Knots, a.Mean, at)[0]-c.Want[k]))
			got, err := a.At(unit.At(unit.Time(at)))
			if err != nil {
				t.Fatal(err)
			}
			worst = max(worst, math.Abs(got[0]-c.Want[k]))
		}
	}
	t.Logf("largest difference %.2g µV", worst)
	if !(worst < 1e-10) {
		t.Errorf("largest difference %.3g µV of values of 100 µV", worst)
	}
}

// A cubic comes back as it is, everywhere, from any four knots or more.
func TestCubicReproducesCubics(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		knots := []float64{0}
		for _, h := range rapid.SliceOfN(rapid.Float64Range(0.5, 2), 3, 30).Draw(t, "intervals") {
			knots = append(knots, knots[len(knots)-1]+h)
		}
		var p [4]float64
		for i := range p {
			p[i] = rapid.Float64Range(-1, 1).Draw(t, "coefficient")
		}
		end := knots[len(knots)-1]
		f := func(t float64) float64 { x := t / end; return p[0] + x*(p[1]+x*(p[2]+x*p[3])) }
		row := make([]float64, len(knots))
		for i, x := range knots {
			row[i] = f(x)
		}
		at := rapid.Float64Range(0, end).Draw(t, "at")
		if got := cubicAt(knots, [][]float64{row}, at)[0]; !erptest.Near(got, f(at), 1e-10) {
			t.Fatalf("%v, want %v", got, f(at))
		}
	})
}

func TestAt(t *testing.T) {
	parabola := course(0, 1, 4, 9, 16, 25) // (100 t)²
	for _, c := range []struct {
		at   string
		want float64
	}{
		{"0ms", 0}, {"30ms", 9}, {"50ms", 25}, // on samples, the ends too
		{"30.0000001ms", 9}, {"49.99999999ms", 25}, // within a millionth of one
		{"25ms", 6.25}, {"1ms", 0.01}, {"49ms", 24.01}, // between
		{"10..30ms", 14.0 / 3}, {"0..50ms", 55.0 / 6}, // ends included
		{"10.1..30.1ms", 6.5}, {"9.9..30ms", 14.0 / 3},
		{"9.9999999..30.0000001ms", 14.0 / 3}, {"10.0000001..29.9999999ms", 14.0 / 3},
		{"11..20ms", 4}, // one sample
	} {
		got, err := parabola.At(erptest.Latency(t, c.at))
		if err != nil || len(got) != 1 || !erptest.Near(got[0], c.want, 1e-12) {
			t.Errorf("at %s: %v, %v, want %v", c.at, got, err, c.want)
		}
	}
	for at, want := range map[string]string{
		"51ms":      "latency 51 ms is outside the data, which span 0–50 ms",
		"-1ms":      "latency −1 ms is outside the data",
		"40..60ms":  "latency 40–60 ms is outside the data",
		"-10..10ms": "latency −10 to 10 ms is outside the data",
		"11..19ms":  "window 11–19 ms holds no sample at 100 Hz: widen it",
	} {
		_, err := parabola.At(erptest.Latency(t, at))
		erptest.WantError(t, err, want)
	}
	if _, err := parabola.At(unit.At(unit.Time(math.NaN()))); err == nil {
		t.Error("no error at NaN")
	}
}

func TestAtOfFewSamples(t *testing.T) {
	three := course(1, 2, 4)
	if got, err := three.At(erptest.Latency(t, "20ms")); err != nil || got[0] != 4 {
		t.Errorf("on a sample: %v, %v, want 4", got, err)
	}
	if got, err := three.At(erptest.Latency(t, "0..20ms")); err != nil || !erptest.Near(got[0], 7.0/3, 1e-15) {
		t.Errorf("over a window: %v, %v, want 7/3", got, err)
	}
	_, err := three.At(erptest.Latency(t, "5ms"))
	erptest.WantError(t, err, "3 samples are too few to interpolate between: ask for a sampled latency")
	if got, err := course(0, 1, 8, 27).At(erptest.Latency(t, "25ms")); err != nil ||
		!erptest.Near(got[0], 15.625, 1e-12) {
		t.Errorf("four samples: %v, %v, want 15.625", got, err)
	}
}

// Outside says so in readable numbers although the times are thirds.
func TestOutsideIsReadable(t *testing.T) {
	a := &Average{Sites: []string{"Cz"}, Mean: [][]float64{make([]float64, 5)}}
	for i := range 5 {
		a.Times = append(a.Times, float64(i-1)/300)
	}
	_, err := a.At(erptest.Latency(t, "1s"))
	erptest.WantError(t, err, "which span −3.333 to 10 ms")
}

func TestNoiseAt(t *testing.T) {
	a := course(0, 0, 0, 0)
	if got, err := a.NoiseAt(erptest.Latency(t, "10ms")); err != nil || !math.IsNaN(got) {
		t.Errorf("without errors: %v, %v, want NaN", got, err)
	}
	a.Sites = []string{"C3", "Cz", "C4", "Pz"}
	a.SEM = [][]float64{{4, 4, 4, 4}, {1, 3, 1, 1}, {9, 9, 9, 9}, {2, 2, 2, 2}}
	for at, want := range map[string]float64{"0ms": 3, "10ms": 3.5, "0..10ms": 3} {
		if got, err := a.NoiseAt(erptest.Latency(t, at)); err != nil || got != want {
			t.Errorf("at %s: %v, %v, want %v", at, got, err, want)
		}
	}
	if _, err := a.NoiseAt(erptest.Latency(t, "1s")); err == nil {
		t.Error("no error outside the data")
	}
	if a.SEM[0][0] != 4 || a.SEM[1][1] != 3 {
		t.Error("the standard errors were changed")
	}
}

func BenchmarkAtBetweenSamples(b *testing.B) {
	a := &Average{}
	for i := range 501 {
		a.Times = append(a.Times, float64(i)/500)
	}
	for s := range 64 {
		a.Sites = append(a.Sites, fmt.Sprint(s))
		a.Mean = append(a.Mean, make([]float64, 501))
	}
	l := erptest.Latency(b, "170.3ms")
	for b.Loop() {
		if _, err := a.At(l); err != nil {
			b.Fatal(err)
		}
	}
}

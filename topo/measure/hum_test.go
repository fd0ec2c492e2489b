package measure

import (
	"math"
	"math/rand/v2"
	"testing"

	"calotte/topo/internal/erptest"
)

// A planted hum beside a response, at rates and lengths as they come.
func TestHumIsMeasured(t *testing.T) {
	for _, c := range []struct {
		rate, frequency float64
		samples         int
	}{{250, 50, 201}, {500, 50, 501}, {512, 60, 410}, {160, 60, 161}, {1000, 100, 1001}} {
		row := make([]float64, c.samples)
		for t := range row {
			s := float64(t)/c.rate - 0.2
			z := (s - 0.17) / 0.02
			row[t] = 8 - 6*math.Exp(-z*z/2) + 5*s + 0.7*math.Sin(2*math.Pi*c.frequency*s+1)
		}
		got, err := Hum(row, c.rate, c.frequency)
		if err != nil || !erptest.Near(got, 0.7, 0.01) {
			t.Errorf("%v Hz in %d samples at %v Hz: %v, want 0.7 (%v)", c.frequency, c.samples, c.rate, got,
				err)
		}
	}
}

// White noise alone gives what the documentation says: in 2,000 rows within 4
// of its standard errors (a Rayleigh variable's sd is 0.52 of its mean).
func TestHumOfNoise(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	const n, rows = 400, 2000
	sum := 0.0
	row := make([]float64, n)
	for range rows {
		for t := range row {
			row[t] = 3 * rng.NormFloat64()
		}
		a, err := Hum(row, 500, 50)
		if err != nil {
			t.Fatal(err)
		}
		sum += a / rows
	}
	want := 3 * math.Sqrt(math.Pi*3/8*n) / (n / 2)
	t.Logf("%.4f, want %.4f", sum, want)
	if !erptest.Near(sum, want, 4*0.52*want/math.Sqrt(rows)) {
		t.Errorf("%v, want %v", sum, want)
	}
}

func TestHumRefusals(t *testing.T) {
	for want, c := range map[string][3]float64{
		"expected positive":             {100, 500, 0},
		"takes more than twice as much": {100, 100, 50},
		"a longer epoch":                {40, 500, 50},
		"at a rate of NaN":              {100, math.NaN(), 50},
	} {
		_, err := Hum(make([]float64, int(c[0])), c[1], c[2])
		erptest.WantError(t, err, want)
	}
}

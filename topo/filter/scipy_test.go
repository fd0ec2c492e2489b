package filter

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"testing"

	"calotte/topo/unit"
)

// A reference is a filter and what it does to data, by scipy.
type reference struct {
	HighPass, LowPass, Notch number
	Rate                     float64
	Samples, Taps            int
	Half                     []float64 // every 31st tap from the middle on
	Frequencies, Gains       []float64
	Filtered                 [][]float64 // channel × every 37th sample
}

// A number is a frequency without its unit, Hz.
type number float64

func (r reference) design() Design {
	return Design{HighPass: unit.Frequency(r.HighPass), LowPass: unit.Frequency(r.LowPass),
		Notch: unit.Frequency(r.Notch)}
}

func references(t *testing.T) []reference {
	t.Helper()
	text, err := os.ReadFile("../../testdata/filter/filtered.json")
	if err != nil {
		t.Fatal(err)
	}
	var all []reference
	if err := json.Unmarshal(text, &all); err != nil {
		t.Fatal(err)
	}
	return all
}

// exact makes the data of filtered.py.
func exact(n, channel int) []float64 {
	x, s := make([]float64, n), int64(12345+channel)
	offset := 10000.0
	if channel%2 == 1 {
		offset = -offset
	}
	for i := range x {
		s = (1103515245*s + 12345) % (1 << 31)
		x[i] = float64(s>>16)/256 - 64 + 0.03125*float64(i)
		x[i] += offset
		if i > n/3 {
			x[i] += 200
		}
	}
	return x
}

func TestScipy(t *testing.T) {
	for _, r := range references(t) {
		t.Run(fmt.Sprintf("%v-%vHz,%v,%v", r.HighPass, r.LowPass, r.Notch, r.Rate), func(t *testing.T) {
			f := design(t, r.design(), r.Rate)
			impulse := f.Impulse()
			if len(impulse) != r.Taps || f.Taps() != r.Taps {
				t.Fatalf("%d taps, want %d", len(impulse), r.Taps)
			}
			worst := 0.0
			for i, h := range r.Half {
				worst = max(worst, math.Abs(impulse[f.Reach()+31*i]-h))
			}
			if worst > 2e-15 {
				t.Errorf("taps differ by up to %g", worst)
			}
			worst = 0
			for i, gain := range r.Gains {
				worst = max(worst, math.Abs(f.Response(unit.Frequency(r.Frequencies[i]))-gain))
			}
			if worst > 1e-12 {
				t.Errorf("gains differ by up to %g", worst)
			}
			rows := [][]float64{exact(r.Samples, 0), exact(r.Samples, 1), exact(r.Samples, 2)}
			filtered := apply(t, f, 257, rows)[0]
			worst = 0
			for c, want := range r.Filtered {
				for i, w := range want {
					worst = max(worst, math.Abs(filtered[c][37*i]-w))
				}
			}
			t.Logf("filtered samples differ by up to %.2g µV", worst)
			if worst > 1e-9 {
				t.Errorf("filtered samples differ by up to %g µV", worst)
			}
		})
	}
}

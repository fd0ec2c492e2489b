package recording

import (
	"bytes"
	"encoding/json"
	"math"
	"strings"
	"testing"
)

// counting is a source whose sample n of signal s is 1000·s + n.
type counting struct{}

func (counting) Read(signals []int, first int, dst [][]float64) error {
	for row, s := range signals {
		for i := range dst[row] {
			dst[row][i] = float64(1000*s + first + i)
		}
	}
	return nil
}

func TestNew(t *testing.T) {
	h := Header{Kind: Level5, Signals: []Signal{{Label: "Fz", Unit: "mV"}, {Label: "Cz", Unit: "mV"}}}
	r, err := New(h, 1024, 1001, counting{}) // 1001/1024 s are no whole nanoseconds
	if err != nil {
		t.Fatal(err)
	}
	if r.Rate(1) != 1024 || r.Samples(0, 1) != 1001 || math.Abs(r.Duration()-1001./1024) > 1e-9 ||
		r.PatientCode() != "" {
		t.Errorf("%g Hz, %d samples, %g s, of %q", r.Rate(1), r.Samples(0, 1), r.Duration(), r.PatientCode())
	}
	for n := range 1001 {
		if _, i, ok := r.Sample(float64(n)/1024, 0); !ok || i != n {
			t.Fatalf("sample %d was found at %d (%v)", n, i, ok)
		}
		if _, i, ok := r.Sample(r.Time(0, n, 0), 0); !ok || i != n {
			t.Fatalf("sample %d was found at %d (%v) by its time", n, i, ok)
		}
	}
	if _, _, c := r.Window(0.5, -100, 600, 0); c != Outside {
		t.Errorf("a window beyond the end is %v", c)
	}
	n := 0
	for b, err := range r.Blocks([]int{1}) {
		if err != nil {
			t.Fatal(err)
		}
		for i, x := range b.Samples[0] {
			if x != float64(1000+b.First+i) {
				t.Fatalf("sample %d is %g", b.First+i, x)
			}
			n++
		}
	}
	for b, err := range r.Digital([]int{0}) {
		if err != nil || b.Samples[0][5] != 5 {
			t.Error("digital values of an array are its values", err)
		}
	}
	if n != 1001 {
		t.Errorf("%d samples came", n)
	}
	if step := r.Signals[0].Step(); !math.IsNaN(step) {
		t.Errorf("no range is stated, and a step is %g", step)
	}
	text, err := json.Marshal(r.Summary())
	if err != nil || !strings.Contains(string(text), `"kind":"MATLAB array"`) {
		t.Errorf("%s, %v", text, err)
	}
	for k, want := range map[Kind]string{NumPy: "NumPy array", Text: "table of samples"} {
		if k.String() != want || k.Bits() != 0 || k.Plus() {
			t.Errorf("%v: %d bits, plus %v", k, k.Bits(), k.Plus())
		}
	}
}

func TestNewRefuses(t *testing.T) {
	one := Header{Kind: NumPy, Signals: []Signal{{Label: "Fz"}}}
	for name, c := range map[string]struct {
		h       Header
		rate    float64
		samples int
	}{
		"no rate": {one, 0, 10}, "a rate below zero": {one, -1, 10}, "no number": {one, math.NaN(), 10},
		"infinite": {one, math.Inf(1), 10}, "no samples": {one, 100, 0}, "no signals": {Header{}, 100, 10},
		"74 years": {one, 1e-9, 3}, "an instant": {one, 1e12, 1},
	} {
		if _, err := New(c.h, c.rate, c.samples, counting{}); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	if _, err := NewWriter(&bytes.Buffer{}, Header{Kind: NumPy, Records: 1, RecordDuration: 1}); err == nil {
		t.Error("an array was written as EDF")
	}
}

package unmix

import (
	"bytes"
	"context"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"

	"calotte/layout/hostile"
	"calotte/topo/internal/erptest"
)

// known is a file of two rows and two components, the second of an eye.
func knownFile() *File {
	s := &Separation{Weights: mat.NewDense(2, 2, []float64{1, 1, 0, 2}),
		Maps: mat.NewDense(2, 2, []float64{1, -0.5, 0, 0.5})}
	f := &File{Name: "sub-01", Rows: []string{"Fz", "Cz"}}
	f.Tell(s, []Traits{{Share: 90, Slope: math.NaN()},
		{Row: 1, Share: 10.126, Blink: 0.91234, Front: 0.8, Sideways: math.NaN()}})
	return f
}

func TestDecisionsAreReadAsWritten(t *testing.T) {
	f := knownFile()
	var b bytes.Buffer
	if err := WriteDecisions(&b, f); err != nil {
		t.Fatal(err)
	}
	want := "component\tlooks_like\tremove\tvariance_percent\tlargest_at\tblink_r\tsideways_r\tfront_share\tabove_20hz\t" +
		"slope\t" +
		"rhythm\tmap_kurtosis\tmains\tweights\n" +
		"1\tnone of these\tno\t90.0\tFz\t0\t0\t0\t0\tn/a\t0\t0\t0\t" + f.Mark() + "\n" +
		"2\teye: blink\tyes\t10.1\tCz\t0.912\tn/a\t0.800\t0\t0\t0\t0\t0\t" + f.Mark() + "\n"
	if b.String() != want {
		t.Errorf("%q, want %q", b.String(), want)
	}
	d, err := ReadDecisions(&b, f)
	if err != nil || len(d) != 2 || d[0].Remove || !d[1].Remove || d[1].Looks != Blink {
		t.Fatalf("%+v, %v", d, err)
	}
	// Without the second component, the rows hold the first alone: x =
	// a₁(w₁x).
	without := f.Without(d)
	for i, want := range []float64{1, 1, 0, 0} {
		if got := without.At(i/2, i%2); !erptest.Near(got, want, 1e-12) {
			t.Errorf("element %d: %v, want %v", i, got, want)
		}
	}
}

// Every mistake in a table is one line that says where.
func TestDecisionsRefused(t *testing.T) {
	f := knownFile()
	m := f.Mark()
	for text, want := range map[string]string{
		"component\tremove\n1\tno\n": `no column "weights"`,
		"component\tremove\tweights\n1\tno\tw12345678\n": "that of the weights beside this table: it is of " +
			"another recording",
		"component\tremove\tweights\n1\tno\t" + m + "\n1\tyes\t" + m +
			"\n": "column \"component\": 1 a second time: expected each component once",
		"component\tremove\tweights\n3\tno\t" + m +
			"\n": `"3": expected the number of a component, 1 to 2`,
		"component\tremove\tweights\n1\tmaybe\t" + m +
			"\n": `"maybe": expected yes or no`,
		"component\tremove\tweights\n1\tyes\t" + m + "\n2\tYES\t" + m +
			"\n": "yes for all components",
		"component\tlooks_like\tremove\tweights\n1\t" + strings.Repeat("x", 61) + "\tno\t" + m +
			"\n": "a few words",
	} {
		_, err := ReadDecisions(strings.NewReader(text), f)
		erptest.WantError(t, err, want)
	}
	// What the table does not name stays.
	d, err := ReadDecisions(strings.NewReader("component\tremove\tweights\n2\tYes\t"+m+"\n"), f)
	if err != nil || len(d) != 1 || !d[0].Remove {
		t.Errorf("%+v, %v", d, err)
	}
}

func encoded(t testing.TB) []byte {
	b, err := json.Marshal(knownFile())
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestFileIsReadAsWritten(t *testing.T) {
	f, err := ReadFile(encoded(t))
	if err != nil || f.Mark() != knownFile().Mark() || f.Components[0].Slope != nil ||
		*f.Components[1].Blink != 0.91234 {
		t.Fatalf("%+v, %v", f, err)
	}
	for text, want := range map[string]string{
		"":                       "not the weights",
		`{"kind":"participant"}`: "as calotte unmix writes them",
		strings.Replace(string(encoded(t)), `"weights":[[1,1],`, `"weights":[[1],`,
			1): "component 1 has no weight",
		strings.Replace(string(encoded(t)), `"weights":[[1,1],`, `"weights":[[1,1e300],`,
			1): "beyond what a recording gives",
		strings.Replace(string(encoded(t)), `"rows":["Fz","Cz"]`, `"rows":["Fz"]`,
			1): "2 components of 1 rows",
		strings.Replace(string(encoded(t)), `"rows":["Fz","Cz"]`, `"rows":["Fz","Fz"]`,
			1): `site "Fz" stands there twice`,
		strings.Replace(string(encoded(t)), `"rows":["Fz","Cz"]`,
			`"rows":["Fz"`+strings.Repeat(`,"Cz"`, 2001)+`]`,
			1): "2002 rows: expected at most 2000",
		strings.Replace(string(encoded(t)), `"component":2`, `"component":1`,
			1): "component 1 stands where 2 should",
	} {
		_, err := ReadFile([]byte(text))
		erptest.WantError(t, err, want)
	}
}

// Whatever a file holds is read or refused.
func FuzzReadFile(f *testing.F) {
	document := encoded(f)
	f.Add([]byte{0, 1, 2, 3})
	f.Fuzz(func(t *testing.T, script []byte) {
		edited := hostile.Edit(document, script)
		defer hostile.Budget(t, len(edited))()
		file, err := ReadFile(edited)
		if err == nil {
			file.Without([]Decision{{Component: 1, Remove: true}})
		}
	})
}

func FuzzReadDecisions(f *testing.F) {
	file := knownFile()
	f.Add("component\tremove\tweights\n2\tYes\t" + file.Mark() + "\n")
	f.Fuzz(func(t *testing.T, text string) {
		defer hostile.Budget(t, len(text))()
		list, err := ReadDecisions(strings.NewReader(text), file)
		if err == nil && len(list) > 2 {
			t.Errorf("%d decisions on two components", len(list))
		}
	})
}

// Each look is had by what was planted to have it, and by nothing that was not.
func TestLooks(t *testing.T) {
	const rate, seconds = 250, 60
	const n = rate * seconds
	noise := func(stream int) func(int) float64 {
		return func(k int) float64 { return laplace(uniform(stream, k)) }
	}
	slow := make([]float64, n) // a brain's: falling with frequency
	for k := 1; k < n; k++ {
		slow[k] = 0.97*slow[k-1] + noise(40)(k)
	}
	within := func(k, period, width int) float64 {
		if k%period < width {
			return 1
		}
		return 0
	}
	planted := map[string]func(k int) float64{
		Blink:    func(k int) float64 { return 20*within(k, 1013, 60) + 0.1*noise(41)(k) },
		Sideways: func(k int) float64 { return 5*within(k, 3001, 1400) + 0.1*noise(42)(k) },
		Muscle:   noise(43),
		Mains:    func(k int) float64 { return math.Sin(2*math.Pi*50*float64(k)/rate+1) + 0.2*slow[k] },
		Heart:    func(k int) float64 { return 8*within(k, 213, 12) + slow[k]/8 },
		Nothing:  func(k int) float64 { return slow[k] },
	}
	w := Watched{Rate: rate}
	w.Vertical, w.Sideways = make([]float64, n), make([]float64, n)
	var looks []string
	for look, wave := range planted {
		looks = append(looks, look)
		row := make([]float64, n)
		for k := range row {
			row[k] = wave(k)
		}
		switch look {
		case Blink:
			copy(w.Vertical, row)
		case Sideways:
			copy(w.Sideways, row)
		}
		w.Data = append(w.Data, row)
	}
	for range 26 { // rows in which nothing is
		w.Data = append(w.Data, make([]float64, n))
	}
	rows := len(w.Data)
	s := &Separation{Weights: mat.NewDense(len(looks), rows, nil), Maps: mat.NewDense(rows, len(looks), nil)}
	for k := range looks {
		s.Weights.Set(k, k, 1)
		for i := range rows {
			s.Maps.Set(i, k, 1)
		}
	}
	for k, traits := range s.Traits(w) {
		if got := traits.Look(rows); got != looks[k] {
			t.Errorf("%s looks like %s: %+v", looks[k], got, traits)
		}
	}
	asymmetric := Traits{Sideways: 0.6, Front: 0.3, Slope: -1}
	if asymmetric.Look(32) != Nothing {
		t.Error("a brain that is stronger on one side is taken for an eye")
	}
	lone := Traits{Kurtosis: 13}
	if lone.Look(32) != OneElectrode || lone.Look(33) != Nothing || (Traits{Kurtosis: 7.9}).Look(10) != Nothing {
		t.Error("of one electrode")
	}
	if x := kurtosis([]float64{0, 0, 0, 7}); x != 4 {
		t.Errorf("kurtosis of a single row of four: %v", x)
	}
}

// A component's share, and those of all, are of the power at the rows.
func TestSharesAddUp(t *testing.T) {
	m := readMixture(t)
	data := mix(m.Mixing, sources(t))
	s, err := Separate(context.Background(), data, Options{})
	if err != nil {
		t.Fatal(err)
	}
	total := 0.0
	for _, x := range s.Traits(Watched{Data: data, Rate: 100}) {
		total += x.Share
		if !math.IsNaN(x.Blink) {
			t.Errorf("correlation %v with no eye signal", x.Blink)
		}
	}
	if !erptest.Near(total, 100, 0.5) { // components of the likelihood are nearly uncorrelated
		t.Errorf("shares add to %v %%", total)
	}
}

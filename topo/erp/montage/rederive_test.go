package montage

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"calotte/topo/internal/erptest"
)

// derivations reads "P7-A1 P8-A2"; a name alone has an empty reference.
func derivations(text string) []Derivation {
	var out []Derivation
	for f := range strings.FieldsSeq(text) {
		site, reference, _ := strings.Cut(f, "-")
		out = append(out, Derivation{site, reference})
	}
	return out
}

// chain writes a row of the mixing matrix as a sum of signals.
func rowText(signals []Derivation, m *mat.Dense, row int) string {
	var terms []string
	for k, s := range signals {
		if w := m.At(row, k); w != 0 {
			terms = append(terms, fmt.Sprintf("%+g(%s-%s)", w, s.Site, s.Reference))
		}
	}
	return strings.Join(terms, "")
}

func TestRederive(t *testing.T) {
	for _, c := range []struct {
		signals, reference string
		want               string
		rows               map[string]string
	}{
		{"P7-A1 P8-A2 A1-A2", "A2", "A2", map[string]string{
			"P7": "+1(P7-A1)+1(A1-A2)", "P8": "+1(P8-A2)", "A1": "+1(A1-A2)", "A2": ""}},
		{"Fp1-F7 F7-T7 T7-P7 P7-O1", "", "F7", map[string]string{
			"Fp1": "+1(Fp1-F7)", "F7": "", "T7": "-1(F7-T7)", "P7": "-1(F7-T7)-1(T7-P7)",
			"O1": "-1(F7-T7)-1(T7-P7)-1(P7-O1)"}},
		{"Fz-Cz Pz-Cz Oz-Cz", "", "Cz",
			map[string]string{"Fz": "+1(Fz-Cz)", "Cz": "", "Pz": "+1(Pz-Cz)", "Oz": "+1(Oz-Cz)"}},
		{"Fz Pz", "", "", map[string]string{"Fz": "+1(Fz-)", "Pz": "+1(Pz-)"}},
		{"Fz-LE Pz-LE Pz-Oz", "LE", "LE",
			map[string]string{"Fz": "+1(Fz-LE)", "Pz": "+1(Pz-LE)", "Oz": "+1(Pz-LE)-1(Pz-Oz)"}},
		// The shorter way round a loop.
		{"Fz-Cz Cz-Pz Fz-Pz", "Fz", "Fz", map[string]string{"Fz": "", "Cz": "-1(Fz-Cz)", "Pz": "-1(Fz-Pz)"}},
		{"P7-A1 P8-A1+A2 A1-A2", "A1", "A1", map[string]string{
			"P7": "+1(P7-A1)", "P8": "+1(P8-A1+A2)-0.5(A1-A2)", "A1": "", "A2": "-1(A1-A2)"}},
		{"P8-A1+A2 P7-A1 A1-A2", "A1+A2", "A1+A2", map[string]string{
			"P7": "+1(P7-A1)+0.5(A1-A2)", "P8": "+1(P8-A1+A2)", "A1": "+0.5(A1-A2)", "A2": "-0.5(A1-A2)"}},
		// Two means, one of which tells what the other needs.
		{"P7-A1 P8-A1+A2 Cz-A2 A2-Cz+P7", "P7", "P7", map[string]string{
			"P7": "", "A1": "-1(P7-A1)", "P8": "-0.5(P7-A1)+1(P8-A1+A2)+0.5(Cz-A2)+1(A2-Cz+P7)",
			"Cz": "+2(Cz-A2)+2(A2-Cz+P7)", "A2": "+1(Cz-A2)+2(A2-Cz+P7)"}},
		// Ears that nothing on the scalp is set against are left out.
		{"Fz-Cz A1-A2", "", "Cz", map[string]string{"Fz": "+1(Fz-Cz)", "Cz": ""}},
	} {
		signals := derivations(c.signals)
		r, err := Rederive(signals, c.reference)
		if err != nil {
			t.Errorf("%s: %v", c.signals, err)
			continue
		}
		if r.Reference != c.want || len(r.Sites) != len(c.rows) {
			t.Errorf("%s: %v against %q, want %d sites against %q", c.signals, r.Sites, r.Reference,
				len(c.rows),
				c.want)
		}
		for i, site := range r.Sites {
			if got := rowText(signals, r.Mixing, i); got != c.rows[site] {
				t.Errorf("%s: %s is %s, want %s", c.signals, site, got, c.rows[site])
			}
		}
	}
}

func TestRederiveRefusals(t *testing.T) {
	for _, c := range []struct{ signals, reference, want string }{
		{"P7-A1 P8-A2", "", "no derivation connects P7 A1 | P8 A2: record one between them"},
		{"Fz-Cz P7-A1 P8-A2 A1-A2", "", "Fz Cz | P7 A1 P8 A2"},
		{"Fz Pz-LE", "", "Fz (the recording's reference) | Pz LE"},
		{"P7-A1 P8-A1+A2", "", "P7 A1 | P8 A1+A2"},
		{"Fz-Cz", "A1", `"A1": the recording has Fz Cz`},
		{"Fz-Fz", "", "signal 1 is Fz against itself"},
		{"Fz-Cz LE-Cz", "", `signal 2 is derived from "LE"`},
		{"", "", "no signals"},
	} {
		_, err := Rederive(derivations(c.signals), c.reference)
		erptest.WantError(t, err, c.want)
	}
	var e *UnconnectedError
	if _, err := Rederive(derivations("P7-A1 P8-A2"), ""); !errors.As(err, &e) || len(e.Groups) != 2 {
		t.Errorf("%v", err)
	}
}

// electrodes of random montages, and what a reference may be besides.
var (
	someSites      = []string{"Fz", "Cz", "Pz", "P7", "P8", "A1", "A2"}
	someReferences = append(slices.Clone(someSites), "LE", "A1+A2", "Cz+Pz")
)

func randomDerivations(t *rapid.T) []Derivation {
	var out []Derivation
	for range rapid.IntRange(1, 9).Draw(t, "signals") {
		d := Derivation{rapid.SampledFrom(someSites).Draw(t, "site"),
			rapid.SampledFrom(someReferences).Draw(t, "reference")}
		if d.Site != d.Reference {
			out = append(out, d)
		}
	}
	return out
}

// potentialsOf draws a potential for each electrode; the mean of two is their
// mean.
func potentialsOf(rng *rand.Rand) map[string]float64 {
	v := map[string]float64{"LE": 50 * rng.NormFloat64()}
	for _, s := range someSites {
		v[s] = 50 * rng.NormFloat64()
	}
	v["A1+A2"], v["Cz+Pz"] = (v["A1"]+v["A2"])/2, (v["Cz"]+v["Pz"])/2
	return v
}

// Potentials are rebuilt from random potentials, to rounding; what is refused
// cannot be rebuilt: some scalp site's row is no combination of the signals'.
func TestRederiveRebuildsPotentials(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		signals := randomDerivations(t)
		if len(signals) == 0 {
			return
		}
		r, err := Rederive(signals, "")
		if err != nil {
			if resolvable(signals) {
				t.Fatalf("%v: refused (%v), but can be had", signals, err)
			}
			return
		}
		v := potentialsOf(rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0)))
		recorded := mat.NewVecDense(len(signals), nil)
		for k, s := range signals {
			recorded.SetVec(k, v[s.Site]-v[s.Reference])
		}
		var got mat.VecDense
		got.MulVec(r.Mixing, recorded)
		for i, site := range r.Sites {
			if want := v[site] - v[r.Reference]; !erptest.Near(got.AtVec(i), want, 1e-12) {
				t.Fatalf("%v: %s is %v, want %v", signals, site, got.AtVec(i), want)
			}
		}
		for _, s := range signals {
			for _, site := range []string{s.Site, s.Reference} {
				if isScalp(site) && !slices.Contains(r.Sites, site) {
					t.Fatalf("%v: %s is missing", signals, site)
				}
			}
		}
	})
}

// resolvable says by linear algebra whether all scalp sites of the signals can
// be set against each other: whether their differences lie in the row space.
func resolvable(signals []Derivation) bool {
	column := func(row []float64, name string, x float64) {
		parts := strings.Split(name, "+")
		for _, p := range parts {
			row[slices.Index(someReferences, p)] += x / float64(len(parts))
		}
	}
	var scalp []string
	rows := mat.NewDense(len(signals), len(someReferences), nil)
	for k, s := range signals {
		column(rows.RawRowView(k), s.Site, 1)
		column(rows.RawRowView(k), s.Reference, -1)
		for _, n := range []string{s.Site, s.Reference} {
			if isScalp(n) && !slices.Contains(scalp, n) {
				scalp = append(scalp, n)
			}
		}
	}
	rank := rankOf(rows)
	for _, s := range scalp {
		var more mat.Dense
		difference := mat.NewDense(1, len(someReferences), nil)
		column(difference.RawRowView(0), s, 1)
		column(difference.RawRowView(0), scalp[0], -1)
		more.Stack(rows, difference)
		if rankOf(&more) > rank {
			return false
		}
	}
	return true
}

func rankOf(m mat.Matrix) int {
	var svd mat.SVD
	svd.Factorize(m, mat.SVDNone)
	n := 0
	for _, s := range svd.Values(nil) {
		if math.Abs(s) > 1e-9 {
			n++
		}
	}
	return n
}

func ExampleRederive() {
	r, err := Rederive([]Derivation{{"P7", "A1"}, {"P8", "A2"}, {"A1", "A2"}}, "A2")
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(r.Sites, "against", r.Reference)
	fmt.Println(mat.Formatted(r.Mixing))
	_, err = Rederive([]Derivation{{"P7", "A1"}, {"P8", "A2"}}, "")
	fmt.Println(err)
	// Output:
	// [P7 A1 P8 A2] against A2
	// ⎡1  0  1⎤
	// ⎢0  0  1⎥
	// ⎢0  1  0⎥
	// ⎣0  0  0⎦
	// no derivation connects P7 A1 | P8 A2: record one between them, or leave all but one out
}

package epoch

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"calotte/layout"
	"calotte/topo/erp/internal/matrix"
	"calotte/topo/internal/erptest"
	"calotte/topo/measure"
)

// qualityReference is what numpy found (testdata/erp/quality.py).
type qualityReference struct {
	Data       [][][]float64
	SME        []float64
	Covariance [][]float64
	Bootstrap  []float64
	PlusMinus  [][]float64
	Hum        map[string][]float64
}

func qualityOf(t *testing.T) (qualityReference, *Collection) {
	t.Helper()
	var q qualityReference
	erptest.ReadJSON(t, "quality.json", &q)
	return q, collected(q.Data)
}

// collected keeps epochs of sites named by number at 500 Hz.
func collected(data [][][]float64) *Collection {
	var sites []string
	for i := range data[0] {
		sites = append(sites, strconv.Itoa(i))
	}
	e := NewCollection(sites, Window{0, len(data[0][0]) - 1, 500})
	for k, samples := range data {
		e.Add(Row{Onset: float64(k), Kept: true}, samples)
	}
	return e
}

func TestQualityAgainstNumpy(t *testing.T) {
	q, e := qualityOf(t)
	scores, err := e.Scores(40, 60)
	if err != nil {
		t.Fatal(err)
	}
	covariance, err := MeanCovariance(scores)
	if err != nil {
		t.Fatal(err)
	}
	sem := e.Accumulate()
	mean := sem.Mean()
	for i := range e.Sites {
		column := make([]float64, len(scores))
		for k := range scores {
			column[k] = scores[k][i]
		}
		if got, err := SME(column); err != nil || !erptest.Near(got, q.SME[i], 1e-12) {
			t.Errorf("site %d: SME %v, want %v (%v)", i, got, q.SME[i], err)
		}
		for j := range e.Sites {
			if got := covariance.At(i, j); !erptest.Near(got, q.Covariance[i][j], 1e-12) {
				t.Errorf("covariance %d, %d: %v, want %v", i, j, got, q.Covariance[i][j])
			}
		}
		for f, want := range q.Hum {
			frequency, _ := strconv.ParseFloat(f, 64)
			if got, err := measure.Hum(mean[i], 500, frequency); err != nil ||
				!erptest.Near(got, want[i], 1e-12) {
				t.Errorf("site %d at %s Hz: %v, want %v (%v)", i, f, got, want[i], err)
			}
		}
	}
	pm := NewHalves(2, 120, nil)
	for _, samples := range q.Data {
		pm.Add(samples)
	}
	if pm.N() != 13 {
		t.Errorf("%d epochs, want 13", pm.N())
	}
	for i, row := range pm.PlusMinus() {
		for k, x := range row {
			if !erptest.Near(x, q.PlusMinus[i][k], 1e-12) {
				t.Fatalf("site %d, sample %d: %v, want %v", i, k, x, q.PlusMinus[i][k])
			}
		}
	}
}

// The bootstrap of a mean has a known error. Of 4,000 resamples its sd is known
// to 1/√8000 = 1.1 %; four times that are allowed.
func TestBootstrapOfAMean(t *testing.T) {
	q, e := qualityOf(t)
	for i := range e.Sites {
		score := func(mean [][]float64) []float64 {
			sum := 0.0
			for _, x := range mean[i][40:60] {
				sum += x / 20
			}
			return []float64{sum, 2 * sum}
		}
		both, err := e.Bootstrap(4000, 1, score)
		if err != nil {
			t.Fatal(err)
		}
		got := both[0]
		if !erptest.Near(both[1].SME, 2*got.SME, 1e-9) {
			t.Errorf("twice the score has the error %v, want twice %v", both[1].SME, got.SME)
		}
		t.Logf("site %d: %.4f, exactly %.4f", i, got.SME, q.Bootstrap[i])
		if !erptest.Near(got.SME, q.Bootstrap[i], 0.045*q.Bootstrap[i]) || got.Missing != 0 {
			t.Errorf("site %d: %+v, want %v", i, got, q.Bootstrap[i])
		}
		if again, _ := e.Bootstrap(4000, 1, score); again[0] != got {
			t.Error("the same seed gave another result")
		}
		if other, _ := e.Bootstrap(4000, 2, score); other[0] == got {
			t.Error("another seed gave the same result")
		}
		one := func(mean [][]float64) []float64 { return score([][]float64{mean[0], mean[0]}) }
		if alone, _ := e.Select([]int{i}).Bootstrap(4000, 1, one); alone[0] != got {
			t.Error("selecting the site changes its error")
		}
	}
}

// The error of a latency is what it says: the bootstrap's, averaged over 30
// invented people of 60 epochs, meets the sd of the latency over 400 of them
// within a third.
func TestBootstrapOfALatency(t *testing.T) {
	const samples, epochs = 80, 60
	person := func(seed uint64) *Collection {
		rng := rand.New(rand.NewPCG(seed, 9))
		data := make([][][]float64, epochs)
		for k := range data {
			data[k] = matrix.New(1, samples)
			ar := 0.0
			for s := range data[k][0] {
				ar = 0.9*ar + 2*rng.NormFloat64()
				z := float64(s-40) / 10
				data[k][0][s] = ar + 5*math.Exp(-z*z/2)
			}
		}
		return collected(data)
	}
	latency := func(mean [][]float64) float64 { return float64(slices.Index(mean[0], slices.Max(mean[0]))) }
	var latencies, errors []float64
	for i := range uint64(400) {
		e := person(i)
		latencies = append(latencies, latency(e.Accumulate().Mean()))
		if i < 30 {
			b, err := e.Bootstrap(200, 1,
				func(mean [][]float64) []float64 { return []float64{latency(mean)} })
			if err != nil {
				t.Fatal(err)
			}
			errors = append(errors, b[0].SME)
		}
	}
	_, sd := meanAndSD(latencies)
	group, err := GroupSME(errors)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("sd of the latency %.2f samples, its SME %.2f", sd, group)
	if !erptest.Near(group, sd, sd/3) {
		t.Errorf("SME %v, want about %v", group, sd)
	}
}

func TestBootstrapWithoutScores(t *testing.T) {
	_, e := qualityOf(t)
	n := 0
	some := func([][]float64) []float64 {
		if n++; n%4 == 0 {
			return []float64{math.NaN(), math.NaN()}
		}
		return []float64{float64(n % 3), math.NaN()}
	}
	got, err := e.Bootstrap(100, 1, some)
	if err != nil || got[0].Missing != 25 || !(got[0].SME > 0) {
		t.Errorf("%+v, %v, want 25 missing", got, err)
	}
	if got[1].Missing != 100 || !math.IsNaN(got[1].SME) {
		t.Errorf("%+v, want no error of a score that there never is", got[1])
	}
	_, err = e.Bootstrap(1, 1, some)
	erptest.WantError(t, err, "1 resamples")
	one, _ := e.Pick([]int{4})
	_, err = one.Bootstrap(100, 1, some)
	erptest.WantError(t, err, "1 epochs", "2 or more")
	_, err = SME([]float64{1})
	erptest.WantError(t, err, "1 epochs")
	_, err = GroupSME(nil)
	erptest.WantError(t, err, "nobody")
	_, err = MeanCovariance([][]float64{{1}})
	erptest.WantError(t, err, "2 or more")
}

func TestGroupSME(t *testing.T) {
	if got, err := GroupSME([]float64{3, 4, 0}); err != nil || !erptest.Near(got, 5/math.Sqrt(3), 1e-15) {
		t.Errorf("%v, %v, want √(25/3)", got, err)
	}
}

// What is the same in every epoch cancels; two recordings of odd numbers drop
// one each.
func TestPlusMinus(t *testing.T) {
	a, b := NewHalves(1, 2, nil), NewHalves(1, 2, nil)
	if a.PlusMinus() != nil || a.N() != 0 {
		t.Error("an empty average")
	}
	for _, x := range []float64{4, 2, 99} {
		a.Add([][]float64{{7, x}})
	}
	for _, x := range []float64{1, 3, 7, 6, 99} {
		b.Add([][]float64{{-5, x}})
	}
	if err := a.Merge(b); err != nil {
		t.Fatal(err)
	}
	erptest.WantRows(t, "plus-minus", a.PlusMinus(), [][]float64{{0, (4 - 2 + 1 - 3 + 7 - 6) / 6.0}}, 1e-12)
	erptest.WantRows(t, "mean", a.Whole().Mean(), [][]float64{{-4 / 8.0, 221 / 8.0}}, 1e-12)
	a.Add([][]float64{{1, 1}})
	a.Add([][]float64{{0, 0}})
	if a.N() != 10 {
		t.Errorf("%d epochs, want 10", a.N())
	}
	erptest.WantRows(t, "plus-minus", a.PlusMinus(), [][]float64{{1.0 / 8, 2.0 / 8}}, 1e-12)
	erptest.WantError(t, a.Merge(NewHalves(2, 2, nil)), "cannot be merged")
	erptest.WantError(t, a.Merge(NewHalves(1, 3, nil)), "cannot be merged")
}

// Both halves together are what an accumulator makes of all, pairs included.
func TestHalvesAreAWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n, samples := rapid.IntRange(2, 9).Draw(t, "epochs"), 3
		h, all := NewHalves(3, samples, []layout.Pair{{Left: 0, Right: 2}}), NewAccumulator(4, samples)
		for range n {
			rows := matrix.New(4, samples)
			for i := range 3 {
				for k := range rows[i] {
					rows[i][k] = rapid.Float64Range(-100, 100).Draw(t, "µV")
				}
			}
			differences(rows[3:], rows, []layout.Pair{{Left: 0, Right: 2}})
			h.Add(rows[:3])
			all.Add(rows)
		}
		whole := h.Whole()
		for what, both := range map[string][2][][]float64{"mean": {whole.Mean(), all.Mean()},
			"error": {whole.SEM(), all.SEM()}} {
			for i, row := range both[1] {
				for k, x := range row {
					if !erptest.Near(both[0][i][k], x, 1e-10) {
						t.Fatalf("%s of row %d: %v, want %v", what, i, both[0][i][k], x)
					}
				}
			}
		}
	})
}

func ExampleCollection_Bootstrap() {
	e := NewCollection([]string{"Pz"}, Window{First: 0, Last: 2, Rate: 250})
	for k, peak := range []float64{4, 6, 5, 9, 1, 5} {
		e.Add(Row{Source: "one.edf", Onset: float64(k), Condition: "known", Kept: true},
			[][]float64{{0, peak, 1}})
	}
	b, err := e.Bootstrap(1000, 1, func(mean [][]float64) []float64 { return []float64{slices.Max(mean[0])} })
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("peak %.1f µV, SME %.1f µV\n", slices.Max(e.Accumulate().Mean()[0]), b[0].SME)
	// Output: peak 5.0 µV, SME 1.0 µV
}

func BenchmarkBootstrap(b *testing.B) {
	data := make([][][]float64, 90)
	for k := range data {
		data[k] = matrix.New(1, 250)
	}
	e := collected(data)
	for b.Loop() {
		if _, err := e.Bootstrap(100, 1, func(mean [][]float64) []float64 { return mean[0][3:4] }); err != nil {
			b.Fatal(err)
		}
	}
}

// differences fills to with right minus left of the rows of from.
func differences(to, from [][]float64, pairs []layout.Pair) {
	for k, row := range to {
		r, l := from[pairs[k].Right][:len(row)], from[pairs[k].Left][:len(row)]
		for t := range row {
			row[t] = r[t] - l[t]
		}
	}
}

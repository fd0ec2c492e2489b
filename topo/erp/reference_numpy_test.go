package erp

import (
	"math"
	"testing"

	"calotte/topo/recording/event"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/topo/erp/average"
	"calotte/topo/erp/montage"
	"calotte/topo/erp/reject"
	"calotte/topo/filter"
	"calotte/topo/internal/erptest"
	"calotte/topo/unit"
)

// numpyAverage is a condition's digest by testdata/erp/eegmmidb.py.
type numpyAverage struct {
	Kept, Rejected int
	Mean, SEM      [][]float64
	Pairs          [][]float64
	PairSEM        [][]float64 `json:"pair_sem"`
}

// digest is that of the script: three sums in which an error of any one sample
// shows, then every 32nd sample.
func digest(row []float64) []float64 {
	sums := make([]float64, 3)
	for t, x := range row {
		k := float64(t)
		sums[0] += x
		sums[1] += x * math.Cos(k*k/10)
		sums[2] += x * math.Sin(0.37*k)
	}
	for t := 0; t < len(row); t += 32 {
		sums = append(sums, row[t])
	}
	return sums
}

// The whole chain against an independent one in numpy. All that is asked for is
// 0.001 µV; rounding leaves far less. The reference has ten decimals.
func TestPipelineAgainstNumpy(t *testing.T) {
	recs := erptest.OpenRecordings(t, "S001R03.edf", "S001R04.edf")
	var want map[string]map[string]numpyAverage
	erptest.ReadJSON(t, "eegmmidb.json", &want)
	site := func(text string) montage.Reference {
		var r montage.Reference
		if err := r.Set(text); err != nil {
			t.Fatal(err)
		}
		return r
	}
	sphere := head.Sphere(560 / (2 * math.Pi))
	for _, c := range []struct {
		name      string
		pipeline  Pipeline
		tolerance float64 // µV
	}{
		{"average", Pipeline{Reference: montage.AverageReference}, 1e-9},
		{"T9,T10", Pipeline{Reference: site("T9,T10")}, 1e-9},
		{"recorded", Pipeline{}, 1e-9},
		{"rejected", Pipeline{Reference: montage.AverageReference, Reject: Reject{Swing: 250}}, 1e-9},
		{"filtered", Pipeline{Reference: montage.AverageReference,
			Filter: filter.Design{HighPass: 0.5, LowPass: 30}},
			1e-9},
		// Weights from kernels good to 1e-12, in a system that is not
		// well conditioned, times amplitudes of 100 µV and sums of 161
		// of them.
		{"repaired", Pipeline{Reference: montage.AverageReference,
			Repair: Repair{Sites: []layout.Name{"C3"}, Surface: sphere}}, 1e-6},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := c.pipeline
			p.Conditions = []Condition{{"left", event.Labels("T1")}, {"right", event.Labels("T2")}}
			p.Epoch, p.Baseline = unit.Span{From: -0.2, To: 0.8}, &unit.Span{From: -0.2, To: 0}
			compareToNumpy(t, averages(t, &p, recs...), want[c.name], c.tolerance)
		})
	}
}

// compareToNumpy compares averages with the digests of another program.
func compareToNumpy(t *testing.T, averages []*average.Average, digests map[string]numpyAverage, tolerance float64) {
	t.Helper()
	worst := 0.0
	for _, a := range averages {
		want := digests[a.Info.Condition]
		if a.Info.Epochs.Kept != want.Kept || a.Info.Epochs.Lost() != want.Rejected {
			t.Errorf("%s: %d epochs kept, %s, want %d and %d rejected", a.Info.Condition,
				a.Info.Epochs.Kept, a.Info.Epochs.Reasons(), want.Kept, want.Rejected)
		}
		for _, table := range []struct{ got, want [][]float64 }{
			{a.Mean, want.Mean}, {a.SEM, want.SEM}, {a.Pairs.Mean, want.Pairs}, {a.Pairs.SEM, want.PairSEM},
		} {
			if len(table.got) != len(table.want) || len(table.want) == 0 {
				t.Fatalf("%s: %d rows, want %d", a.Info.Condition, len(table.got), len(table.want))
			}
			for i, row := range table.got {
				got := digest(row)
				if len(got) != len(table.want[i]) {
					t.Fatalf("%s: %d samples", a.Info.Condition, len(row))
				}
				for k, x := range got {
					worst = max(worst, math.Abs(x-table.want[i][k]))
				}
			}
		}
	}
	t.Logf("largest difference %.2g µV", worst)
	if !(worst <= tolerance) {
		t.Errorf("largest difference %.3g µV, want at most %g", worst, tolerance)
	}
}

// The last half second of the recordings is zero in every channel, which the
// epochs of the last event must not reach: all are counted.
func TestOpenDataCounts(t *testing.T) {
	recs := erptest.OpenRecordings(t, "S001R03.edf", "S001R04.edf")
	p := Pipeline{Conditions: []Condition{{"rest", event.Labels("T0")}, {"both", event.Labels("T1", "T2")}},
		Epoch: unit.Span{From: -0.2, To: 0.8}}
	as := averages(t, &p, recs...)
	// Pooled counts of the data set's description: T0 30, T1 16, T2 14. The
	// first T0 of each file is at its very beginning.
	for i, want := range []average.Counts{{Kept: 28, Rejected: map[string]int{reject.OutsideData: 2}},
		{Kept: 30, Rejected: nil}} {
		got := as[i].Info.Epochs
		if got.Kept != want.Kept || got.Rejected[reject.OutsideData] != want.Rejected[reject.OutsideData] ||
			got.Lost() != want.Lost() {
			t.Errorf("%s: %+v, want %+v", as[i].Info.Condition, *got, want)
		}
	}
	if want := "none"; as[0].Info.Filters != want {
		t.Errorf("filters %q, want %q", as[0].Info.Filters, want)
	}
}

package erp

import (
	"bytes"
	"math"
	"slices"
	"strings"
	"testing"

	"calotte/layout/hostile"
	"calotte/topo/erp/average"
	"calotte/topo/erp/epoch"
	"calotte/topo/erp/eye"
	"calotte/topo/erp/internal/matrix"
	"calotte/topo/erp/montage"
	"calotte/topo/forward/study"
	"calotte/topo/internal/erptest"
	"calotte/topo/recording"
	"calotte/topo/unit"
)

// epochsOf cuts the epochs of the events of a recording, by their text.
func epochsOf(tb testing.TB, rec *recording.Recording, signals []int, w epoch.Window,
	yield func(text string, samples [][]float64)) {
	tb.Helper()
	var onsets []onset
	var texts []string
	for _, e := range rec.Events {
		if segment, sample, c := rec.Window(e.Onset, w.First, w.Last, signals[0]); c == recording.Whole {
			onsets = append(onsets, onset{segment: segment, sample: sample, conditions: []int{len(texts)}})
			texts = append(texts, e.Text)
		}
	}
	for e, err := range newScissor(w).cut(rec.Blocks(signals), onsets) {
		if err != nil {
			tb.Fatal(err)
		}
		yield(texts[e.conditions[0]], e.samples)
	}
}

// A session of the invented study, in which no epoch is rejected: at the
// frontal sites the average is farther from what was planted before the
// correction than after it.
func TestCorrectionOnTheStudy(t *testing.T) {
	s, err := study.New(1)
	if err != nil {
		t.Fatal(err)
	}
	person := s.Participants()[0]
	var file bytes.Buffer
	if err := person.Write(&file); err != nil {
		t.Fatal(err)
	}
	rec := erptest.Open(t, file.Bytes())
	m, err := montage.New(rec.Signals, montage.Options{})
	if err != nil {
		t.Fatal(err)
	}
	channel := slices.IndexFunc(rec.Signals,
		func(s recording.Signal) bool { return strings.HasPrefix(s.Label, "EOG") })
	w, err := epoch.NewWindow(unit.Span{From: -0.2, To: 0.6}, study.SampleRate)
	if err != nil {
		t.Fatal(err)
	}
	signals := append(slices.Clone(m.Signals), channel)
	n := len(m.Sites)
	f, err := eye.NewFit(n, 1, w.Len(), eye.UsualBlinks)
	if err != nil {
		t.Fatal(err)
	}
	epochsOf(t, rec, signals, w, func(text string, x [][]float64) { f.Add(text, x[:n], x[n:]) })
	c, err := f.Coefficients()
	if err != nil {
		t.Fatal(err)
	}
	for _, site := range []string{"Fp1", "Fpz", "Fp2", "Fz", "Cz", "P8", "Oz"} {
		i := slices.Index(m.Sites, site)
		t.Logf("%s: %.3f in blinks, %.3f beside (%d and %d samples)", site, c.Blink.At(i, 0), c.Rest.At(i, 0),
			c.BlinkN,
			c.RestN)
	}
	raw, corrected := epoch.NewAccumulator(n, w.Len()), epoch.NewAccumulator(n, w.Len())
	take := func(a *epoch.Accumulator, x [][]float64) { // average reference, baseline −200 to 0 ms
		for k := range w.Len() {
			mean := 0.0
			for _, row := range x[:n] {
				mean += row[k] / float64(n)
			}
			for _, row := range x[:n] {
				row[k] -= mean
			}
		}
		for _, row := range x[:n] {
			mean := 0.0
			for _, v := range row[:51] {
				mean += v / 51
			}
			for k := range row {
				row[k] -= mean
			}
		}
		a.Add(x[:n])
	}
	epochsOf(t, rec, signals, w, func(text string, x [][]float64) {
		if text != study.Known {
			return
		}
		clean := matrix.New(n, w.Len())
		for i := range clean {
			copy(clean[i], x[i])
		}
		c.Correct(clean, x[n:])
		take(raw, x)
		take(corrected, clean)
	})
	averageOf := &average.Average{Sites: m.Sites, Times: w.Times()}
	truth := planted(t, person, study.Known, averageOf, 0)
	distance := func(a *epoch.Accumulator, sites ...string) float64 {
		squares := 0.0
		for _, site := range sites {
			i := slices.Index(m.Sites, site)
			for k, x := range a.Mean()[i] {
				squares += (x - truth[i][k]) * (x - truth[i][k])
			}
		}
		return math.Sqrt(squares / float64(len(sites)*w.Len()))
	}
	front, back := []string{"Fp1", "Fpz", "Fp2", "AF7", "AF8", "AF3", "AF4", "AFz"}, []string{"P7", "P8", "Oz",
		"Pz"}
	t.Logf("distance from the truth: front %.2f µV before, %.2f after; back %.2f before, %.2f after",
		distance(raw, front...), distance(corrected, front...), distance(raw, back...),
		distance(corrected, back...))
	if !(distance(corrected, front...) < 0.6*distance(raw, front...) &&
		distance(corrected, back...) < distance(raw, back...)+0.1) {
		t.Error("the correction does not help")
	}
}

func FuzzEyeSet(f *testing.F) {
	for _, text := range []string{"VEOG", "VEOGu-VEOGl", `"EOG-1"-"EOG-2"`, `"`, "-", `a-"`, "a-b-c", "\xff"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		defer hostile.Budget(t, len(text))()
		var e, again eye.Channel
		if e.Set(text) != nil {
			return
		}
		if e.Plus == "" {
			t.Errorf("%q is an eye channel without a label", text)
		}
		if err := again.Set(e.String()); err != nil || again != e {
			t.Errorf("%q became %q, which reads as %+v, %v", text, e, again, err)
		}
	})
}

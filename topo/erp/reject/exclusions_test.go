package reject

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"calotte/layout"
	"calotte/topo/internal/erptest"
)

// The decisions on an event are those that a look at all of them finds, in
// their order.
func TestExclusionsOfAnEvent(t *testing.T) {
	source := rapid.SampledFrom([]string{"one.edf", "two.edf"})
	// Steps of a quarter of a sample at 100 Hz: half a sample away is still
	// meant.
	onset := rapid.Custom(func(t *rapid.T) float64 {
		return float64(rapid.IntRange(-40, 40).Draw(t,
			"step")) / 400
	})
	decision := rapid.Custom(func(t *rapid.T) Exclusion {
		return Exclusion{Source: source.Draw(t, "source"), Onset: onset.Draw(t, "onset")}
	})
	rapid.Check(t, func(t *rapid.T) {
		list := rapid.SliceOf(decision).Draw(t, "decisions")
		of, at, rate := source.Draw(t, "recording"), onset.Draw(t, "event"),
			rapid.SampledFrom([]float64{25, 100, 1000}).Draw(t, "rate")
		var want []int
		for i, x := range list {
			if x.Means(of, at, rate) {
				want = append(want, i)
			}
		}
		if got := NewExclusions(list).Of(of, at, rate); !slices.Equal(got, want) {
			t.Errorf("found %v, want %v", got, want)
		}
	})
}

func TestReadExclusions(t *testing.T) {
	want := []Exclusion{
		{Source: "one.edf", Onset: 12.5, Reason: "moved, and spoke"},
		{Source: "one.edf", Onset: 14, Site: layout.Name("T7"), Reason: "loose"},
		{Source: "one.edf", Onset: 14, Site: layout.Name("P7")},
		{Source: "two.edf", Onset: -0.25},
	}
	for name, text := range map[string]string{
		"tabs": "file\tonset\telectrode\treason\none.edf\t12.5\tn/a\tmoved, and spoke\none.edf\t14\tT3\tloose\n" +
			"one.edf\t14.0\tp7\t\ntwo.edf\t-0.25\t\tn/a\n",
		"order, line ends, byte-order mark and more columns": "\ufeffreason\tfile\tnote\tonset\telectrode\r\nmoved, " +
			"and spoke\tone.edf\t?\t12.5\t\r\nloose\tone.edf\t\t14\tT3\r\n\tone.edf\t\t14\tP7\r\n" +
			"\ttwo.edf\t\t-.25\tn/a\r\n",
	} {
		got, err := ReadExclusions(strings.NewReader(text))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if !reflect.DeepEqual(got, want) {
			t.Errorf("%s: %+v, want %+v", name, got, want)
		}
	}
	commas, err := ReadExclusions(strings.NewReader("file,onset\none.edf,12.5\n"))
	if err != nil || len(commas) != 1 || commas[0].Onset != 12.5 {
		t.Errorf("commas: %+v, %v", commas, err)
	}
	none, err := ReadExclusions(strings.NewReader("file\tonset\telectrode\treason\n"))
	if err != nil || len(none) != 0 {
		t.Errorf("no decision: %+v, %v", none, err)
	}
}

func TestReadExclusionsRefuses(t *testing.T) {
	const header = "file\tonset\telectrode\treason\n"
	for _, c := range []struct{ text, want string }{
		{"", "expected a header"},
		{"file\telectrode\n", `no column "onset"`},
		{header + "one.edf\t12,5\tn/a\tn/a\n", `line 2, column "onset": "12,5"`},
		{header + "one.edf\t12.5ms\tn/a\tn/a\n", `column "onset"`},
		{header + "one.edf\t\tn/a\tn/a\n", `column "onset"`},
		{header + "n/a\t1\tn/a\tn/a\n", `line 2, column "file"`},
		{header + "one.edf\t1\tXY9\tn/a\n", `line 2, column "electrode": "XY9"`},
		{header + "one.edf\t1\tP7\tn/a\none.edf\t1.0\tP7\tagain\n", "line 3"},
		{header + "one.edf\t1\n", "line 2: 2 entries"},
		{"file;onset\none.edf;1\n", `no column "file"`},
	} {
		_, err := ReadExclusions(strings.NewReader(c.text))
		erptest.WantError(t, err, c.want)
	}
}

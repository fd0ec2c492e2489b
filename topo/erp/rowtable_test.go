package erp

import (
	"bytes"
	"math"
	"reflect"
	"strings"
	"testing"

	"calotte/layout"
	"calotte/layout/hostile"
	"calotte/topo/internal/erptest"
)

// What is written is read back, in the columns that others may rely on.
func TestIndexRoundTrip(t *testing.T) {
	rows := []EpochRow{
		{Source: "one.edf", Onset: 1.0 / 3, Condition: "known", Response: math.NaN(), Kept: true},
		{Source: "one.edf", Onset: 1e6 + 0.1, Condition: "known", Response: 0.4515, Reason: PeakToPeak, Sites: []string{"AF7", "Fp1"}},
		{Source: "two, again.edf", Onset: 0, Condition: "known", Response: 0, Reason: "excluded: moved\tand\nyawned"},
	}
	var b bytes.Buffer
	if err := WriteIndex(&b, rows); err != nil {
		t.Fatal(err)
	}
	want := "source\tonset\tresponse_time\tkept\treason\telectrodes\n" +
		"one.edf\t0.3333333333333333\tn/a\tyes\tn/a\tn/a\n" +
		"one.edf\t1000000.1\t0.4515\tno\tpeak to peak\tAF7,Fp1\n" +
		"two, again.edf\t0\t0\tno\texcluded: moved and yawned\tn/a\n"
	if b.String() != want {
		t.Errorf("wrote\n%s, want\n%s", b.String(), want)
	}
	got, err := ReadIndex(&b, "known")
	if err != nil {
		t.Fatal(err)
	}
	rows[2].Reason = "excluded: moved and yawned"
	for i := range rows {
		if math.IsNaN(got[i].Response) && math.IsNaN(rows[i].Response) {
			got[i].Response, rows[i].Response = 0, 0
		}
	}
	if !reflect.DeepEqual(got, rows) {
		t.Errorf("read %+v, want %+v", got, rows)
	}
}

func TestReadIndexRefuses(t *testing.T) {
	const header = "source\tonset\tresponse_time\tkept\treason\telectrodes\n"
	for _, c := range []struct{ text, want string }{
		{"", "expected a header"},
		{"\n \n", "expected a header"},
		{"source\tonset\n", `no column "kept"`},
		{header + "a.edf\t1\tn/a\tyes\tn/a\n", "line 2: 5 entries: expected 6"},
		{header + "a.edf\t1\tn/a\tyes\tn/a\tn/a\tn/a\n", "line 2: 7 entries"},
		{header + "a.edf\t1s\tn/a\tyes\tn/a\tn/a\n", `line 2, column "onset": "1s"`},
		{header + "a.edf\tn/a\tn/a\tyes\tn/a\tn/a\n", `column "onset"`},
		{header + "a.edf\tNaN\tn/a\tyes\tn/a\tn/a\n", `column "onset"`},
		{header + "a.edf\t1\t1e999\tyes\tn/a\tn/a\n", `column "response_time"`},
		{header + "\n\na.edf\t1\tn/a\ttrue\tn/a\tn/a\n", `line 4, column "kept": "true": expected yes or no`},
		{header + "a\xff.edf\t1\tn/a\tyes\tn/a\tn/a\n", "UTF-8"},
		{header + strings.Repeat("x", 1<<21), "megabyte"},
		{"source\tonset\tkept\tkept\n", "twice"},
	} {
		_, err := ReadIndex(strings.NewReader(c.text), "known")
		erptest.WantError(t, err, c.want)
	}
}

func TestReadExclusions(t *testing.T) {
	want := []Exclusion{
		{Source: "one.edf", Onset: 12.5, Reason: "moved, and spoke"},
		{Source: "one.edf", Onset: 14, Site: layout.Name("T7"), Reason: "loose"},
		{Source: "one.edf", Onset: 14, Site: layout.Name("P7")},
		{Source: "two.edf", Onset: -0.25},
	}
	for name, text := range map[string]string{
		"tabs": "file\tonset\telectrode\treason\none.edf\t12.5\tn/a\tmoved, and spoke\none.edf\t14\tT3\tloose\none.edf\t14.0\tp7\t\ntwo.edf\t-0.25\t\tn/a\n",
		"order, line ends, byte-order mark and more columns": "\ufeffreason\tfile\tnote\tonset\telectrode\r\nmoved, and spoke\tone.edf\t?\t12.5\t\r\nloose\tone.edf\t\t14\tT3\r\n\tone.edf\t\t14\tP7\r\n\ttwo.edf\t\t-.25\tn/a\r\n",
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

func FuzzReadIndex(f *testing.F) {
	f.Add("source\tonset\tresponse_time\tkept\treason\telectrodes\na.edf\t1.5\tn/a\tyes\tn/a\tn/a\nb\t2\t0.3\tno\tstep\tCz,Pz\n")
	f.Add("kept,onset,source\nyes,1,a\n")
	f.Add("\ufeffsource\tonset\tkept\r\n\r\na\t1\tno\r\n")
	f.Fuzz(func(t *testing.T, text string) {
		defer hostile.Budget(t, len(text))()
		rows, err := ReadIndex(strings.NewReader(text), "x")
		if err != nil {
			return
		}
		var b bytes.Buffer
		if err := WriteIndex(&b, rows); err != nil {
			t.Fatal(err)
		}
		once := b.String()
		again, err := ReadIndex(&b, "x")
		if err != nil {
			t.Fatalf("%q, written from %q: %v", once, text, err)
		}
		b.Reset()
		if err := WriteIndex(&b, again); err != nil || b.String() != once {
			t.Errorf("%q became %q (%v)", once, b.String(), err)
		}
	})
}

func FuzzReadExclusions(f *testing.F) {
	f.Add("file\tonset\telectrode\treason\none.edf\t12.5\tn/a\tmoved\none.edf\t14\tT3\tloose\n")
	f.Add("file,onset\none.edf,12.5\n")
	f.Fuzz(func(t *testing.T, text string) {
		defer hostile.Budget(t, len(text))()
		all, err := ReadExclusions(strings.NewReader(text))
		for i, x := range all {
			if err != nil || x.Source == "" || math.IsNaN(x.Onset) || math.IsInf(x.Onset, 0) {
				t.Errorf("%d: %+v, %v", i, x, err)
			}
		}
	})
}

package epoch

import (
	"bytes"
	"math"
	"reflect"
	"strings"
	"testing"

	"calotte/layout/hostile"
	"calotte/topo/internal/erptest"
	"calotte/topo/recording"
)

// What is written is read back, in the columns that others may rely on.
func TestIndexRoundTrip(t *testing.T) {
	names := []string{"trial_type", "part"}
	rows := []Row{
		{Source: "one.edf", Onset: 1.0 / 3, Condition: "known", Response: math.NaN(), Kept: true,
			Event: recording.NewColumns(names, []string{"known", "n/a"})},
		{Source: "one.edf", Onset: 1e6 + 0.1, Condition: "known", Response: 0.4515, Reason: "peak to peak",
			Sites: []string{"AF7", "Fp1"},
			Event: recording.NewColumns([]string{"part"}, []string{"first\tof two"})},
		{Source: "two, again.edf", Onset: 0, Condition: "known", Response: 0,
			Reason: "excluded: moved\tand\nyawned"},
	}
	var b bytes.Buffer
	if err := WriteIndex(&b, rows); err != nil {
		t.Fatal(err)
	}
	want := "source\tonset\tresponse_time\tkept\treason\telectrodes\tevent_trial_type\tevent_part\n" +
		"one.edf\t0.3333333333333333\tn/a\tyes\tn/a\tn/a\tknown\tn/a\n" +
		"one.edf\t1000000.1\t0.4515\tno\tpeak to peak\tAF7,Fp1\tn/a\tfirst of two\n" +
		"two, again.edf\t0\t0\tno\texcluded: moved and yawned\tn/a\tn/a\tn/a\n"
	if b.String() != want {
		t.Errorf("wrote\n%s, want\n%s", b.String(), want)
	}
	got, err := ReadIndex(&b, "known")
	if err != nil {
		t.Fatal(err)
	}
	rows[2].Reason = "excluded: moved and yawned"
	for i, values := range [][]string{{"known", ""}, {"", "first of two"}, {"", ""}} {
		rows[i].Event = recording.NewColumns(names, values)
	}
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

func FuzzReadIndex(f *testing.F) {
	f.Add("source\tonset\tresponse_time\tkept\treason\telectrodes\na.edf\t1.5\tn/a\tyes\tn/a\tn/a\n" +
		"b\t2\t0.3\tno\tstep\tCz,Pz\n")
	f.Add("source\tonset\tkept\tevent_part\tevent_\na\t1\tyes\tfirst\tn/a\n")
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

package trigger

import (
	"bytes"
	"errors"
	"io"
	"math"
	"os"
	"testing"

	"calotte/topo/recording"
	"pgregory.net/rapid"
)

// failer is a test or a property.
type failer interface {
	Helper()
	Fatal(...any)
}

func open(t failer, file []byte) *recording.Recording {
	t.Helper()
	r, err := recording.Open(bytes.NewReader(file), int64(len(file)), recording.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// file returns a recording of one signal, of 10 samples a record of 0.1 s.
func file(t failer, kind recording.Kind, samples []float64) *recording.Recording {
	t.Helper()
	for len(samples)%10 > 0 {
		samples = append(samples, samples[len(samples)-1])
	}
	limits := map[recording.Kind]int{recording.EDFPlusC: 1 << 15, recording.BDFPlusC: 1 << 23}
	low, high := -limits[kind], limits[kind]-1
	var b bytes.Buffer
	w, err := recording.NewWriter(&b, recording.Header{Kind: kind, Records: len(samples) / 10, RecordDuration: 0.1,
		Signals: []recording.Signal{{Label: "Status", PhysicalMin: float64(low), PhysicalMax: float64(high),
			DigitalMin: low, DigitalMax: high, SamplesPerRecord: 10}}})
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i < len(samples); i += 10 {
		if err := w.WriteRecord([][]float64{samples[i : i+10]}, nil); err != nil {
			t.Fatal(err)
		}
	}
	return open(t, b.Bytes())
}

func same(a, b float64) bool { return math.Abs(a-b) < 1e-9 || math.IsNaN(a) && math.IsNaN(b) }

// The codes that testdata/recording/bdf_write.c put into the status channel, at
// 256 Hz: 5 in samples 20 to 29, 255 in 60 to 63, 254 to 67, 65535 in 100, 1
// from 180.
func TestStatusChannel(t *testing.T) {
	for _, c := range []struct {
		name  string
		start float64
	}{{"continuous.bdf", 0.5}, {"plain.bdf", 0}, {"gaps.bdf", 0.5}} { // 1 stays on over the gap: no event behind it
		b, err := os.ReadFile("../../../testdata/recording/" + c.name)
		if err != nil {
			t.Fatal(err)
		}
		r := open(t, b)
		for _, m := range []struct {
			mask uint32
			want []recording.Event // onset and duration in samples
		}{
			{StatusMask, []recording.Event{{Onset: 20, Duration: 10, Text: "5"},
				{Onset: 60, Duration: 4, Text: "255"},
				{Onset: 100, Duration: 1, Text: "65535"},
				{Onset: 180, Duration: math.NaN(), Text: "1"}}},
			{1, []recording.Event{{Onset: 20, Duration: 10, Text: "1"}, {Onset: 60, Duration: 4, Text: "1"},
				{Onset: 100, Duration: 1, Text: "1"}, {Onset: 180, Duration: math.NaN(), Text: "1"}}},
			{6, []recording.Event{{Onset: 20, Duration: 10, Text: "4"}, {Onset: 60, Duration: 8, Text: "6"},
				{Onset: 100, Duration: 1, Text: "6"}}},
			{1 << 16, nil}, // on in the first sample only: it did not rise there
			{1 << 20, nil},
			{0, nil},
		} {
			got, err := Codes(r, 2, m.mask)
			if err != nil {
				t.Fatal(err)
			}
			if len(got) != len(m.want) {
				t.Errorf("%s, mask %#x: %v, want %v", c.name, m.mask, got, m.want)
				continue
			}
			for i, w := range m.want {
				if !same(got[i].Onset, c.start+w.Onset/256) || !same(got[i].Duration, w.Duration/256) ||
					got[i].Text != w.Text {
					t.Errorf("%s, mask %#x: %v, want %v (samples)", c.name, m.mask, got[i], w)
				}
			}
		}
	}
}

// Codes of 16 bits in an EDF file, where the highest is stored as −1.
func TestCodes16(t *testing.T) {
	got, err := Codes(file(t, recording.EDFPlusC, []float64{0, -1, -1, 0, 1, 3, 2, 6}), 0, StatusMask)
	if err != nil {
		t.Fatal(err)
	}
	want := []recording.Event{{Onset: 0.01, Duration: 0.02, Text: "65535"},
		{Onset: 0.04, Duration: 0.01, Text: "1"},
		{Onset: 0.05, Duration: 0.01, Text: "3"}, {Onset: 0.07, Duration: math.NaN(), Text: "6"}}
	if len(got) != len(want) {
		t.Fatalf("%v, want %v", got, want)
	}
	for i, w := range want {
		if !same(got[i].Onset, w.Onset) || !same(got[i].Duration, w.Duration) || got[i].Text != w.Text {
			t.Errorf("%v, want %v", got[i], w)
		}
	}
}

// An event at each sample where a masked bit is on that was off before it, and
// nowhere else.
func TestCodesByDefinition(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		samples := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) float64 {
			return float64(rapid.IntRange(-8, 7).Draw(t,
				"value"))
		}), 10, 40).Draw(t, "samples")
		mask := uint32(rapid.IntRange(0, 7).Draw(t, "mask"))
		got, err := Codes(file(t, recording.BDFPlusC, samples), 0, mask)
		if err != nil {
			t.Fatal(err)
		}
		next := 0
		for i := 1; i < len(samples); i++ {
			rose := false
			for bit := range 3 {
				on := func(x float64) bool { return int(x)>>bit&1 == 1 }
				rose = rose || mask>>bit&1 == 1 && on(samples[i]) && !on(samples[i-1])
			}
			found := next < len(got) && same(got[next].Onset, float64(i)/100)
			if found != rose {
				t.Fatalf("sample %d: found %v, want %v", i, found, rose)
			}
			if found {
				next++
			}
		}
		if next != len(got) {
			t.Fatalf("%d events, want %d", len(got), next)
		}
	})
}

func TestCrossings(t *testing.T) {
	wave := []float64{9, 0, 5, 6, 4, 5, 9, 9, 0, 0, 4, 5, 0, 5}
	for _, c := range []struct {
		name string
		t    Threshold
		want []float64 // samples
	}{
		{"rising", Threshold{Level: 5}, []float64{2, 5, 11, 13}},
		{"falling", Threshold{Level: 4, Edge: Falling}, []float64{1, 4, 8, 12}},
		{"dead for longer than the flicker", Threshold{Level: 5, Dead: 0.04}, []float64{2, 11}},
		{"dead until just the next", Threshold{Level: 5, Dead: 0.03}, []float64{2, 5, 11}},
		{"never", Threshold{Level: 100}, nil},
	} {
		c.t.Label = "light"
		got, err := Crossings(file(t, recording.EDFPlusC, wave), 0, c.t)
		if err != nil {
			t.Fatal(err)
		}
		if len(got) != len(c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
			continue
		}
		for i, w := range c.want {
			if !same(got[i].Onset, w/100) || got[i].Text != "light" || !math.IsNaN(got[i].Duration) {
				t.Errorf("%s: %v, want one at sample %g", c.name, got[i], w)
			}
		}
	}
	r := file(t, recording.EDFPlusC, wave)
	for _, bad := range []Threshold{{Level: math.NaN()}, {Dead: -1}, {Dead: -0.01}} {
		if _, err := Crossings(r, 0, bad); err == nil {
			t.Errorf("%+v was accepted", bad)
		}
	}
	if _, err := Crossings(r, 1, Threshold{}); err == nil {
		t.Error("a signal that is not there was accepted")
	}
	if _, err := Codes(r, -1, StatusMask); err == nil {
		t.Error("a signal that is not there was accepted")
	}
}

// A disk that fails below the samples is an error, not an end.
func TestReadError(t *testing.T) {
	b, err := os.ReadFile("../../../testdata/recording/plain.bdf")
	if err != nil {
		t.Fatal(err)
	}
	source := &failing{ReaderAt: bytes.NewReader(b)}
	r, err := recording.Open(source, int64(len(b)), recording.Options{})
	if err != nil {
		t.Fatal(err)
	}
	source.broken = true
	if _, err := Codes(r, 2, StatusMask); !errors.Is(err, errBroken) {
		t.Errorf("error %v, want %v", err, errBroken)
	}
}

var errBroken = errors.New("the disk is gone")

type failing struct {
	io.ReaderAt
	broken bool
}

func (f *failing) ReadAt(p []byte, offset int64) (int, error) {
	if f.broken {
		return 0, errBroken
	}
	return f.ReaderAt.ReadAt(p, offset)
}

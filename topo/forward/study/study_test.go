package study

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"

	"calotte/topo/recording"
)

// studyOnce is the study that the tests share.
var studyOnce = sync.OnceValues(func() (*Study, error) { return New(1) })

func testStudy(t testing.TB) *Study {
	t.Helper()
	s, err := studyOnce()
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// run returns a whole session: channel × sample, µV, as recorded.
func run(p *Participant) [][]float64 {
	s := p.simulation()
	channels, all := make([][]float64, siteCount+1), make([][]float64, siteCount+1)
	for i := range channels {
		channels[i] = make([]float64, SampleRate)
	}
	for range p.seconds {
		s.next(channels)
		for i, c := range channels {
			all[i] = append(all[i], c...)
		}
	}
	return all
}

func written(t testing.TB, p *Participant) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := p.Write(&b); err != nil {
		t.Error(err)
	}
	return b.Bytes()
}

// shortened returns the participant with the first seconds of the session.
func shortened(p *Participant, seconds int) *Participant {
	short := *p
	short.seconds = seconds
	short.events = slices.DeleteFunc(p.Events(),
		func(e recording.Event) bool { return e.Onset >= float64(seconds) })
	return &short
}

func TestWrittenFileReadsBack(t *testing.T) {
	p := shortened(testStudy(t).Participants()[6], 110)
	file := written(t, p)
	r, err := recording.Open(bytes.NewReader(file), int64(len(file)), recording.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Notes) != 0 || len(r.Segments) != 1 || r.Kind != recording.EDFPlusC {
		t.Errorf("notes %q, %d segments, kind %v: want none, 1, EDF+C", r.Notes, len(r.Segments), r.Kind)
	}
	if r.PatientCode() != "sub-07" {
		t.Errorf("patient code %q, want sub-07", r.PatientCode())
	}
	if len(r.Signals) != 65 || r.Signals[46].Label != "P7" || r.Signals[64].Label != "EOG VEOG" ||
		r.Rate(0) != 250 {
		t.Errorf("%d signals, 47th %q, last %q, %g Hz", len(r.Signals), r.Signals[46].Label,
			r.Signals[64].Label,
			r.Rate(0))
	}

	want := p.Events()
	if len(r.Events) != len(want) {
		t.Fatalf("%d events, want %d", len(r.Events), len(want))
	}
	for i, e := range r.Events {
		w := want[i]
		if e.Onset != w.Onset || e.Text != w.Text || math.IsNaN(e.Duration) != math.IsNaN(w.Duration) {
			t.Fatalf("event %d reads as %v, want %v", i, e, w)
		}
	}

	all := run(p)
	signals := []int{0, 46, 54, 64} // P7, P8 among them
	seen := 0
	for b, err := range r.Blocks(signals) {
		if err != nil {
			t.Fatal(err)
		}
		for k, signal := range signals {
			for i, v := range b.Samples[k] {
				if d := math.Abs(v - all[signal][b.First+i]); d > resolution/2+1e-9 {
					t.Fatalf("signal %d, sample %d is off by %g µV: want at most half a step",
						signal,
						b.First+i,
						d)
				}
			}
		}
		seen += len(b.Samples[0])
	}
	if seen != p.seconds*SampleRate {
		t.Errorf("%d samples, want %d", seen, p.seconds*SampleRate)
	}
}

func TestEveryOutputSaysSynthetic(t *testing.T) {
	s := testStudy(t)
	for _, p := range s.Participants() {
		h := p.Header()
		if !strings.Contains(h.Patient, "synthetic") || !strings.Contains(h.Recording, "synthetic") {
			t.Errorf("%s: patient %q, recording %q", p.ID, h.Patient, h.Recording)
		}
		for _, signal := range h.Signals {
			if !strings.Contains(signal.Transducer, "synthetic") {
				t.Errorf("%s, %s: transducer %q", p.ID, signal.Label, signal.Transducer)
			}
		}
	}
	var b strings.Builder
	if err := s.WriteTruth(&b); err != nil {
		t.Fatal(err)
	}
	for i, line := range strings.Split(strings.TrimSpace(b.String()), "\n") {
		if fields := strings.Split(line, "\t"); len(fields) != 9 || i > 0 && fields[8] != "synthetic" {
			t.Fatalf("line %d of the truth: %q", i+1, line)
		}
	}
}

// The same seed gives the same bytes, however many run at once and on however
// many processors; another seed gives others.
func TestSameBytes(t *testing.T) {
	const seconds = 20
	want := written(t, shortened(testStudy(t).Participants()[2], seconds))
	again, err := New(1)
	if err != nil {
		t.Fatal(err)
	}
	files := make([][]byte, 3)
	var group sync.WaitGroup
	for i := range files {
		group.Go(func() { files[i] = written(t, shortened(again.Participants()[i], seconds)) })
	}
	group.Wait()
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	if !bytes.Equal(files[2], want) || !bytes.Equal(written(t, shortened(again.Participants()[2], seconds)), want) {
		t.Error("the bytes of a participant differ from one time to the next")
	}
	other, err := New(2)
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Equal(written(t, shortened(other.Participants()[2], seconds)), want) {
		t.Error("seeds 1 and 2 give the same bytes")
	}
}

// Twelve files leave room under 100 MB for averages with their errors.
func TestFilesAreSmall(t *testing.T) {
	total := 0
	for _, p := range testStudy(t).Participants() {
		h := p.Header()
		_, room, err := h.Distribute(p.Events())
		if err != nil {
			t.Fatal(err)
		}
		total += 256*(len(h.Signals)+2) + h.Records*(2*len(h.Signals)*SampleRate+room)
		if p.number > 1 {
			continue
		}
		if got := len(written(t, p)); got != total {
			t.Errorf("%s has %d bytes, reckoned %d", p.ID, got, total)
		}
	}
	if total > 76e6 {
		t.Errorf("all files have %d bytes, want at most 76e6", total)
	}
}

func ExampleParticipant_Write() {
	study, err := New(1)
	if err != nil {
		fmt.Println(err)
		return
	}
	p := study.Participants()[0]
	var file bytes.Buffer
	if err := p.Write(&file); err != nil {
		fmt.Println(err)
		return
	}
	r, err := recording.Open(bytes.NewReader(file.Bytes()), int64(file.Len()), recording.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s: %d channels, %d events, %.0f s, %s\n", p.ID, len(r.Signals), len(r.Events), r.Duration(),
		r.Signals[0].Transducer)
	// Output:
	// sub-01: 65 channels, 201 events, 190 s, synthetic, against (M1+M2)/2
}

func BenchmarkWrite(b *testing.B) {
	p := testStudy(b).Participants()[0]
	b.SetBytes(int64(len(written(b, p))))
	b.ReportAllocs()
	for b.Loop() {
		if err := p.Write(io.Discard); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkNewStudy(b *testing.B) {
	for b.Loop() {
		if _, err := New(1); err != nil {
			b.Fatal(err)
		}
	}
}

package recording

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func TestCoverageText(t *testing.T) {
	for c, want := range map[Coverage]string{Whole: "whole", AcrossGap: "across a gap",
		Outside: "outside the data"} {
		if c.String() != want {
			t.Errorf("got %s, want %s", c, want)
		}
	}
}

func TestWindow(t *testing.T) {
	r := discontinuous(t) // 4 Hz; 0.5 to 2.5 s and 10 to 13 s
	for _, c := range []struct {
		onset       float64
		first, last int
		segment     int
		index       int
		want        Coverage
	}{
		{1, -2, 5, 0, 2, Whole},
		{1, -2, 6, 0, 2, AcrossGap},
		{1, -3, 5, 0, 2, Outside},
		{1, -3, 6, 0, 2, AcrossGap}, // both; the gap says more
		{1, 0, 1e6, 0, 2, AcrossGap},
		{10.5, -2, 9, 1, 2, Whole},
		{10.5, -3, 9, 1, 2, AcrossGap},
		{10.5, -2, 10, 1, 2, Outside},
		{5, 0, 0, 0, 0, AcrossGap}, // the event itself
		{0, 0, 0, 0, 0, Outside},
		{99, -400, 0, 0, 0, Outside},
	} {
		segment, index, got := r.Window(c.onset, c.first, c.last, 0)
		if segment != c.segment || index != c.index || got != c.want {
			t.Errorf("%d to %d about %g s: segment %d, sample %d, %v; want %d, %d, %v",
				c.first, c.last, c.onset, segment, index, got, c.segment, c.index, c.want)
		}
	}
}

// interrupted returns a file with gaps, and the clock of each of its samples:
// the value of sample k of the only signal is k, counted over the whole file.
func interrupted(t *rapid.T) (*Recording, []float64) {
	kind := rapid.SampledFrom([]Kind{EDFPlusC, BDFPlusC}).Draw(t, "kind")
	perRecord := rapid.SampledFrom([]int{4, 5, 8}).Draw(t, "samples per record")
	starts := []int{rapid.IntRange(0, 3).Draw(t, "start")} // s
	for range rapid.IntRange(0, 12).Draw(t, "records") {
		starts = append(starts, starts[len(starts)-1]+1+max(0, rapid.IntRange(-6, 3).Draw(t, "gap")))
	}
	h := Header{Kind: kind, Records: len(starts), RecordDuration: 1, AnnotationBytes: 12,
		Signals: []Signal{{Label: "Cz", Unit: "uV", PhysicalMin: -500, PhysicalMax: 500, DigitalMin: -500,
			DigitalMax: 500, SamplesPerRecord: perRecord}}}
	var b bytes.Buffer
	w, err := NewWriter(&b, h)
	if err != nil {
		t.Fatal(err)
	}
	row := make([]float64, perRecord)
	var clock []float64
	for i, start := range starts {
		for k := range row {
			row[k] = float64(i*perRecord + k)
			clock = append(clock, float64(start)+float64(k)/float64(perRecord))
		}
		if err := w.WriteRecord([][]float64{row}, nil); err != nil {
			t.Fatal(err)
		}
	}
	record := perRecord*kind.family().width + 12
	file := patch(b.Bytes(), 196, "D")
	for i, start := range starts {
		file = patch(file, 768+(i+1)*record-12, fmt.Sprintf("+%d\x14\x14\x00\x00\x00", start))
	}
	r, err := openBytes(file, Options{})
	if err != nil {
		t.Fatal(err)
	}
	return r, clock
}

// Segments part where the clock jumps and nowhere else, a block never holds
// samples of two, and every sample is found by its time.
func TestGaps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r, clock := interrupted(t)
		step := 1 / r.Rate(0)
		jumps := 0
		for k := 1; k < len(clock); k++ {
			if clock[k]-clock[k-1] > 1.5*step {
				jumps++
			}
		}
		if len(r.Segments) != jumps+1 || len(r.gaps()) != jumps {
			t.Fatalf("%d segments, %d gaps; the clock jumps %d times", len(r.Segments), len(r.gaps()),
				jumps)
		}
		var seen []float64
		segment, next := 0, 0
		for b, err := range r.Blocks([]int{0}) {
			if err != nil {
				t.Fatal(err)
			}
			if b.Segment != segment {
				segment, next = segment+1, 0
			}
			if b.Segment != segment || b.First != next {
				t.Fatalf("a block of segment %d from %d, after segment %d up to %d", b.Segment, b.First,
					segment,
					next)
			}
			for i, x := range b.Samples[0] {
				k := int(x)
				if got := r.Time(segment, b.First+i, 0); math.Abs(got-clock[k]) > 1e-9 {
					t.Errorf("sample %d at %v s, want %v", k, got, clock[k])
				}
				if s, index, ok := r.Sample(clock[k], 0); !ok || s != segment || index != b.First+i {
					t.Errorf("time %v: segment %d, sample %d, %v; want %d, %d", clock[k], s, index,
						ok,
						segment,
						b.First+i)
				}
			}
			seen = append(seen, b.Samples[0]...)
			next += len(b.Samples[0])
		}
		if len(seen) != len(clock) || !slices.IsSorted(seen) {
			t.Errorf("samples %v", seen)
		}
	})
}

// A window is whole where all its samples are there and follow one another by
// the clock.
func TestWindowByClock(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r, clock := interrupted(t)
		k := rapid.IntRange(0, len(clock)-1).Draw(t, "sample")
		first, last := rapid.IntRange(-9, 0).Draw(t, "first"), rapid.IntRange(0, 9).Draw(t, "last")
		want := Whole
		for i := k + first; i <= k+last; i++ {
			if i < 0 || i >= len(clock) || clock[i]-clock[k] > (float64(i-k)+.5)/r.Rate(0) ||
				clock[k]-clock[i] > (float64(k-i)+.5)/r.Rate(0) {
				want = Outside // or across a gap
			}
		}
		_, _, got := r.Window(clock[k], first, last, 0)
		if (got == Whole) != (want == Whole) {
			t.Errorf("%d to %d about sample %d: %v", first, last, k, got)
		}
		if got == AcrossGap && len(r.Segments) == 1 {
			t.Error("across a gap where there is none")
		}
	})
}

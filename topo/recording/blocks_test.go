package recording

import (
	"bytes"
	"errors"
	"io"
	"runtime"
	"testing"

	"pgregory.net/rapid"
)

// A failer is a test, a benchmark or a property.
type failer interface {
	Helper()
	Fatal(...any)
	Fatalf(string, ...any)
}

// writeRamp returns a file of signals whose sample k of signal i is known.
func writeRamp(tb failer, perRecord []int, records int) []byte {
	tb.Helper()
	h := Header{Kind: EDFPlusC, Records: records, RecordDuration: 1}
	samples := make([][]float64, len(perRecord))
	for i, n := range perRecord {
		h.Signals = append(h.Signals, Signal{Label: "ramp", Unit: "uV", PhysicalMin: -32768, PhysicalMax: 32767,
			DigitalMin: -32768, DigitalMax: 32767, SamplesPerRecord: n})
		samples[i] = make([]float64, n)
	}
	var b bytes.Buffer
	w, err := NewWriter(&b, h)
	if err != nil {
		tb.Fatal(err)
	}
	for record := range records {
		for i, row := range samples {
			for k := range row {
				row[k] = ramp(i, record*len(row)+k)
			}
		}
		if err := w.WriteRecord(samples, nil); err != nil {
			tb.Fatal(err)
		}
	}
	return b.Bytes()
}

func ramp(signal, sample int) float64 { return float64(int16(7919*signal + sample)) }

// checkRamp reads the signals and compares every sample; it returns the number
// of blocks and the samples in the largest.
func checkRamp(tb failer, r *Recording, signals []int) (blocks, largest int) {
	tb.Helper()
	next := 0
	for b, err := range r.Blocks(signals) {
		if err != nil {
			tb.Fatal(err)
		}
		if b.Segment != 0 || b.First != next || len(b.Samples) != len(signals) {
			tb.Fatalf("block of %d signals at segment %d, sample %d; want %d at 0, %d", len(b.Samples),
				b.Segment,
				b.First, len(signals), next)
		}
		for row, i := range signals {
			for k, x := range b.Samples[row] {
				if x != ramp(i, b.First+k) {
					tb.Fatalf("signal %d, sample %d: %v, want %v", i, b.First+k, x,
						ramp(i, b.First+k))
				}
			}
		}
		next += len(b.Samples[0])
		blocks++
		largest = max(largest, len(signals)*len(b.Samples[0]))
	}
	if want := r.Samples(0, signals[0]); next != want {
		tb.Fatalf("%d samples, want %d", next, want)
	}
	return blocks, largest
}

func TestBlocks(t *testing.T) {
	for _, c := range []struct {
		name      string
		perRecord []int
		records   int
		signals   []int
		blocks    int
	}{
		{"one record", []int{5, 5, 3}, 1, []int{0, 1}, 1},
		{"in any order, one twice", []int{5, 5, 3, 5}, 4, []int{3, 0, 3, 1}, 1},
		{"few samples a record", []int{1, 2}, 9000, []int{0}, 1},
		{"one of many", []int{500, 500, 500, 500, 500, 500, 500, 500}, 400, []int{5}, 7},
		{"several blocks", []int{500, 500, 500, 500, 500, 500, 500, 500}, 100, all(8), 13},
		{"a record longer than a block", []int{300_000, 300_000}, 2, []int{1, 0}, 37},
	} {
		t.Run(c.name, func(t *testing.T) {
			blocks, largest := checkRamp(t, open(t, writeRamp(t, c.perRecord, c.records)), c.signals)
			if blocks != c.blocks {
				t.Errorf("%d blocks, want %d", blocks, c.blocks)
			}
			if largest*8 > blockBytes {
				t.Errorf("a block of %d bytes, want at most %d", largest*8, blockBytes)
			}
		})
	}
}

func TestBlocksAny(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		perRecord := rapid.SliceOfN(rapid.SampledFrom([]int{1, 7, 40}), 1, 6).Draw(t, "samples per record")
		r, err := openBytes(writeRamp(t, perRecord, rapid.IntRange(1, 30).Draw(t, "records")), Options{})
		if err != nil {
			t.Fatal(err)
		}
		var signals []int
		for i, n := range perRecord {
			if n == perRecord[0] {
				signals = append(signals, i)
			}
		}
		checkRamp(t, r, rapid.Permutation(signals).Draw(t, "signals"))
	})
}

func TestBlocksRefused(t *testing.T) {
	r := open(t, specimen(t))
	for _, c := range []struct {
		signals []int
		want    string
	}{
		{nil, "no signals are named: name at least one of 2"},
		{[]int{2}, "signal 2 does not exist: there are 2, counted from 0"},
		{[]int{-1}, "signal -1 does not exist: there are 2, counted from 0"},
		{[]int{0, 1}, `signals "EEG Cz" (4 Hz) and "EEG Pz" (2 Hz) differ in rate: take them one after the other`},
	} {
		count := 0
		for _, err := range r.Blocks(c.signals) {
			count++
			if err == nil || err.Error() != c.want {
				t.Errorf("%v: got %v, want %s", c.signals, err, c.want)
			}
		}
		if count != 1 {
			t.Errorf("%v: %d steps, want the error alone", c.signals, count)
		}
	}
}

// broken fails from an offset on.
type broken struct {
	io.ReaderAt
	from int64
}

var errBroken = errors.New("the disk is gone")

func (b broken) ReadAt(p []byte, offset int64) (int, error) {
	if offset+int64(len(p)) > b.from {
		return 0, errBroken
	}
	return b.ReaderAt.ReadAt(p, offset)
}

func TestReadError(t *testing.T) {
	file := writeRamp(t, []int{500, 500, 500, 500, 500, 500, 500, 500}, 100)
	r := open(t, file)
	r.source = broken{bytes.NewReader(file), 600_000}
	var last error
	for b, err := range r.Blocks(all(8)) {
		if last != nil {
			t.Fatal("blocks after an error")
		}
		if last = err; err != nil && b.Samples != nil {
			t.Error("samples with an error")
		}
	}
	if !errors.Is(last, errBroken) {
		t.Errorf("got error %v, want %v", last, errBroken)
	}
}

// The memory that reading takes does not depend on the length.
func TestBlocksMemory(t *testing.T) {
	allocated := func(seconds int) uint64 {
		r := open(t, synthetic(t, 8, 500, seconds))
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		for _, err := range r.Blocks(all(8)) {
			if err != nil {
				t.Fatal(err)
			}
		}
		runtime.ReadMemStats(&after)
		return after.TotalAlloc - before.TotalAlloc
	}
	short, long := allocated(100), allocated(1000)
	if long > short+short/10 || long > 2<<20 {
		t.Errorf("%d bytes for 100 s, %d for 1000 s", short, long)
	}
}

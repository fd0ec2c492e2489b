package recording

import (
	"cmp"
	"fmt"
	"iter"
	"slices"
)

// A Block is a run of samples of some signals, without a gap.
type Block struct {
	Segment int         // index into Recording.Segments
	First   int         // index of the first sample within the segment
	Samples [][]float64 // signal × sample, physical values; the next block reuses them
}

const (
	blockBytes   = 1 << 18   // of float64 in a block, about: it stays in a processor's own cache
	denseStride  = 128 << 10 // bytes read at once where most of a record is wanted
	sparseStride = 4 << 10   // and where little of it is
)

// Blocks returns the samples of the given signals, segment by segment and in
// order within each, in blocks of about 256 kB: the memory used does not
// depend on the length of the recording. Values are in each signal's own unit.
//
// The signals, indices into Header.Signals in any order, must have one rate.
// An error ends the sequence.
func (r *Recording) Blocks(signals []int) iter.Seq2[Block, error] {
	return r.blocks(signals, (*Signal).scale, nil)
}

// BlocksWith is [Recording.Blocks] without the blocks that the caller has no
// use for: wanted is asked of each, with its segment and its samples from first
// to before last.
func (r *Recording) BlocksWith(signals []int, wanted func(segment, first, last int) bool) iter.Seq2[Block, error] {
	return r.blocks(signals, (*Signal).scale, wanted)
}

// Digital returns blocks as [Recording.Blocks] does, of the digital values as
// they are stored: what a channel of trigger codes means. An array stores the
// values themselves.
func (r *Recording) Digital(signals []int) iter.Seq2[Block, error] {
	return r.blocks(signals, func(*Signal) scale { return scale{1, 0} }, nil)
}

func (r *Recording) blocks(signals []int, scaled func(*Signal) scale,
	wanted func(segment, first, last int) bool) iter.Seq2[Block, error] {
	return func(yield func(Block, error) bool) {
		d, err := r.decoder(signals, scaled)
		if err != nil {
			yield(Block{}, err)
			return
		}
		for s := range r.Segments {
			total := r.Samples(s, signals[0])
			for first := 0; first < total; first += d.step {
				n := min(d.step, total-first)
				if wanted != nil && !wanted(s, first, first+n) {
					continue
				}
				b := Block{s, first, d.room(n)}
				if err := d.decode(b); err != nil {
					yield(Block{}, err)
					return
				}
				if !yield(b, nil) {
					return
				}
			}
		}
	}
}

// A decoder reads and scales the samples of some signals.
type decoder struct {
	recording *Recording
	signals   []int
	window    window
	tracks    []track // in the order of the file, so that the window moves forward
	perRecord int     // samples of each signal
	step      int     // samples of each signal in a full block
	scale     func(c scale, dst []float64, b []byte)
	memory    [][]float64
	rows      [][]float64 // the parts of memory that the current block uses
}

// A track is one wanted signal.
type track struct {
	span
	scale scale
	row   int // in the block
}

func (r *Recording) decoder(signals []int, scaled func(*Signal) scale) (*decoder, error) {
	if err := r.oneRate(signals); err != nil {
		return nil, err
	}
	d := &decoder{recording: r, signals: signals, perRecord: r.Signals[signals[0]].SamplesPerRecord,
		memory: make([][]float64, len(signals)), rows: make([][]float64, len(signals))}
	d.step = max(1, blockBytes/8/len(signals))
	if r.array == nil {
		d.place(scaled)
	}
	longest := 0
	for s := range r.Segments {
		longest = max(longest, r.Samples(s, signals[0]))
	}
	for i := range d.memory {
		d.memory[i] = make([]float64, min(d.step, longest))
	}
	return d, nil
}

// place finds the tracks in the records, and how much to read at once.
func (d *decoder) place(scaled func(*Signal) scale) {
	r, signals := d.recording, d.signals
	d.scale = r.Kind.family().scale
	for row, i := range signals {
		d.tracks = append(d.tracks, track{r.frame.signals[i], scaled(&r.Signals[i]), row})
	}
	slices.SortFunc(d.tracks, func(a, b track) int { return cmp.Compare(a.offset, b.offset) })

	dense := int64(len(signals)*r.frame.width)*int64(d.perRecord) >= r.frame.record/2
	if d.step >= d.perRecord {
		d.step -= d.step % d.perRecord
	} else {
		dense = false // a record longer than a block is read in many places at once
	}
	d.window = window{r: r.source, size: r.size, stride: sparseStride}
	if dense {
		d.window.stride = denseStride
	}
}

// oneRate checks that the signals exist and share a rate.
func (r *Recording) oneRate(signals []int) error {
	if len(signals) == 0 {
		return fmt.Errorf("no signals are named: name at least one of %d", len(r.Signals))
	}
	for _, i := range signals {
		if i < 0 || i >= len(r.Signals) {
			return fmt.Errorf("signal %d does not exist: there are %d, counted from 0", i, len(r.Signals))
		}
	}
	a := signals[0]
	for _, b := range signals {
		if r.Signals[a].SamplesPerRecord != r.Signals[b].SamplesPerRecord {
			return fmt.Errorf("signals %q (%g Hz) and %q (%g Hz) differ in rate: take them one "+
				"after the other",
				r.Signals[a].Label, r.Rate(a), r.Signals[b].Label, r.Rate(b))
		}
	}
	return nil
}

// room returns room for n samples of each signal.
func (d *decoder) room(n int) [][]float64 {
	for i, m := range d.memory {
		d.rows[i] = m[:n]
	}
	return d.rows
}

// decode fills a block, record by record.
func (d *decoder) decode(b Block) error {
	if array := d.recording.array; array != nil {
		return array.Read(d.signals, b.First, b.Samples)
	}
	f := &d.recording.frame
	start := d.recording.Segments[b.Segment].Record
	total := len(b.Samples[0])
	for done := 0; done < total; {
		record, within := start+(b.First+done)/d.perRecord, (b.First+done)%d.perRecord
		n := min(total-done, d.perRecord-within)
		for i := range d.tracks {
			t := &d.tracks[i]
			raw, err := d.window.bytes(f.at(record, t.offset+int64(f.width*within)), f.width*n)
			if err != nil {
				return err
			}
			d.scale(t.scale, b.Samples[t.row][done:done+n], raw)
		}
		done += n
	}
	return nil
}

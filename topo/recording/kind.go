package recording

import "strings"

// Kind is the variant of the format.
type Kind int

// The kinds of file. BDF is EDF with samples of 24 bits; the last three are
// arrays of numbers, which [Open] does not read.
const (
	EDF      Kind = iota // no annotations, no gaps
	EDFPlusC             // annotations, no gaps
	EDFPlusD             // annotations, records may be separated by gaps
	BDF                  // EDF with 24 bits
	BDFPlusC             // EDF+C with 24 bits
	BDFPlusD             // EDF+D with 24 bits
	NumPy                // an array, of [New] as those below
	Level5               // an array in a MATLAB file
	Text                 // a table, a column a signal
)

// array reports whether the samples come from a [Source].
func (k Kind) array() bool { return k >= NumPy }

// A family is the kinds that share a width of samples and differ in nothing
// else.
type family struct {
	version    string // the file's first eight bytes, without filling blanks
	reserved   string // reserved field of the plain kind
	annotation string // label of the signals that hold text instead of samples
	width      int    // bytes of a sample
	names      [3]string
	scale      func(c scale, dst []float64, b []byte) // physical values of samples
}

// The plain kind of a family, the continuous one and the one with gaps, as they
// follow each other among the kinds.
const (
	plainKind = iota
	continuousKind
	interruptedKind
	kindsOfFamily
)

// families returns the two families. The marks of the second are from memory.
func families() [2]family {
	return [...]family{
		{"0", "", "EDF Annotations", 2, [...]string{"EDF", "EDF+C", "EDF+D"}, scale.apply16},
		{"\xffBIOSEMI", "24BIT", "BDF Annotations", 3, [...]string{"BDF", "BDF+C", "BDF+D"}, scale.apply24},
	}
}

func (k Kind) family() family { return families()[k/kindsOfFamily] }

// plus is what the marks of the kinds with annotations begin with: "EDF+".
func (f *family) plus() string { return strings.TrimSuffix(f.names[continuousKind], "C") }

// least and most are the limits of a digital value.
func (f *family) least() int { return -1 << (8*f.width - 1) }
func (f *family) most() int  { return 1<<(8*f.width-1) - 1 }

// Bits returns the width of a sample, 16 or 24; of an array, whose samples are
// kept as numbers, 0.
func (k Kind) Bits() int {
	if k.array() {
		return 0
	}
	return 8 * k.family().width
}

// Plus reports whether the kind has annotations.
func (k Kind) Plus() bool { return !k.array() && k%kindsOfFamily != plainKind }

// interrupted reports whether records may be separated by gaps.
func (k Kind) interrupted() bool { return !k.array() && k%kindsOfFamily == interruptedKind }

// String returns the standard's own name of the kind, or what sort of array it
// is.
func (k Kind) String() string {
	if k.array() {
		return [...]string{"NumPy array", "MATLAB array", "table of samples"}[k-NumPy]
	}
	f := k.family()
	return f.names[k%kindsOfFamily]
}

// MarshalText writes what String returns.
func (k Kind) MarshalText() ([]byte, error) { return []byte(k.String()), nil }

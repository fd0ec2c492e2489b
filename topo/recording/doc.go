// Package recording reads and writes recordings in the European Data Format and
// its 24-bit variant.
//
// It knows plain EDF (Kemp, Värri, Rosa, Nielsen & Gade 1992, "A simple format
// for exchange of digitized polygraphic recordings", Electroencephalography and
// Clinical Neurophysiology 82:391) and its extension EDF+ (Kemp & Olivan 2003,
// "European data format 'plus' (EDF+), an EDF alike standard format for the
// exchange of physiological data", Clinical Neurophysiology 114:1755), both
// continuous (EDF+C) and with gaps (EDF+D). BDF is the same with samples of 24
// bits, byte 255 in front of its first field, and BDF+C and BDF+D as its kinds;
// BIDS allows both. The layout of the fields is written down here from memory
// of the texts and checked against files made by EDFlib and an open data set.
//
// Samples that lie in another container come through a [Source]: package array
// has those of NumPy, MATLAB and text. Users of a [Recording] see no difference
// but that no range of values is stated.
//
// # Words
//
// A file is a header and a sequence of data records of one fixed duration. Each
// record holds, signal after signal, a fixed number of little-endian samples of
// 16 or 24 bits; signals may have different rates. In EDF+ and BDF+ one or more
// signals labelled "EDF Annotations" or "BDF Annotations" hold text instead:
// time-stamped annotation lists, which carry the events and the time at which
// each record starts. These signals are not listed in [Header.Signals].
//
// A [Segment] is a stretch of records without a gap. Sample indices count from
// the start of a segment. Times are in seconds from the start that the header
// gives; the first record may start later than that. No [Block] holds samples
// of two segments: whoever filters starts anew when the segment changes, and
// [Recording.Window] tells an epoch that a gap cuts from a whole one.
//
// # Samples
//
// A digital value d of a signal stands for the physical value
//
//	p = gain·d + offset
//	gain = (PhysicalMax − PhysicalMin) / (DigitalMax − DigitalMin)
//	offset = PhysicalMin − gain·DigitalMin
//
// in the signal's own unit, gain and offset both correctly rounded from the
// decimal numbers in the header. [Microvolts] gives the factor from a unit to
// µV.
//
// # Faults
//
// Whatever would change a number is an error of type [*FormatError]. Whatever
// would not (an unreadable date, say) becomes a line in [Recording.Notes].
package recording

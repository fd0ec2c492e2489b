package recording

// Sizes of the header, from Kemp et al. 1992.
const (
	fixedBytes  = 256 // the part that describes the file
	signalBytes = 256 // the part that describes one signal
)

// A span is the place of one signal within a record.
type span struct {
	offset int64 // bytes from the start of the record
	bytes  int
}

func (s span) end() int64 { return s.offset + int64(s.bytes) }

// A frame says where in the file the records and their parts lie.
type frame struct {
	header      int64 // bytes before the first record
	record      int64 // bytes of a record
	width       int   // bytes of a sample
	signals     []span
	annotations []span
}

// at returns the offset in the file of a place in a record.
func (f *frame) at(record int, offset int64) int64 {
	return f.header + int64(record)*f.record + offset
}

// fixed names the fields of the header's first part and their offsets; each
// ends where the next one begins.
var fixed = [...]struct {
	name   string
	offset int
}{
	{"version", 0}, {"patient", 8}, {"recording", 88}, {"start date", 168}, {"start time", 176},
	{"header size", 184}, {"reserved", 192}, {"number of data records", 236},
	{"record duration", 244}, {"number of signals", 252}, {"", fixedBytes},
}

const (
	fieldVersion = iota
	fieldPatient
	fieldRecording
	fieldDate
	fieldTime
	fieldHeaderSize
	fieldReserved
	fieldRecords
	fieldDuration
	fieldSignals
)

// columns names the fields of the header's second part and their offsets within
// the 256 bytes that a signal has; the file holds all labels first, then all
// transducers and so on.
var columns = [...]struct {
	name   string
	offset int
}{
	{"label", 0}, {"transducer", 16}, {"unit", 96}, {"physical minimum", 104},
	{"physical maximum", 112}, {"digital minimum", 120}, {"digital maximum", 128},
	{"prefilter", 136}, {"samples per record", 216}, {"reserved", 224}, {"", signalBytes},
}

const (
	columnLabel = iota
	columnTransducer
	columnUnit
	columnPhysicalMin
	columnPhysicalMax
	columnDigitalMin
	columnDigitalMax
	columnPrefilter
	columnSamples
)

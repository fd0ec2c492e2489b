package bids

import (
	"fmt"
	"io"
	"io/fs"

	"calotte/topo/recording"
)

// A Description is what the sidecars of a recording say. It may also be put
// together by hand, of files that are not in a data set.
type Description struct {
	Sidecars
	Events   *Events   // nil: there is no table
	Channels []Channel // nil: there is no table
	EEG      EEG
}

// Describe reads the sidecars that apply to the recording at a path of a data
// set. Positions are not read: see [Sidecars] for their paths.
func Describe(fsys fs.FS, recording string) (*Description, error) {
	return NewFinder(fsys).Describe(recording)
}

// Describe reads the sidecars that apply to a recording, as the function
// Describe does.
func (f *Finder) Describe(recording string) (*Description, error) {
	fsys := f.fsys
	s, err := f.Find(recording)
	if err != nil {
		return nil, err
	}
	d := &Description{Sidecars: s}
	if s.Events != "" {
		err = reading(fsys, s.Events,
			func(r io.Reader) (err error) { d.Events, err = ReadEvents(r, ""); return err })
		if err != nil {
			return nil, err
		}
	}
	if s.Channels != "" {
		err = reading(fsys, s.Channels,
			func(r io.Reader) (err error) { d.Channels, err = ReadChannels(r); return err })
		if err != nil {
			return nil, err
		}
	}
	d.EEG, err = describeEEG(fsys, s.EEG)
	return d, err
}

// reading opens a file and names it in an error.
func reading(fsys fs.FS, name string, read func(io.Reader) error) error {
	f, err := fsys.Open(name)
	if err != nil {
		return err
	}
	defer f.Close()
	if err := read(f); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	return nil
}

// describeEEG lays JSON files over each other. Each is read alone first, so
// that an error names the file.
func describeEEG(fsys fs.FS, names []string) (EEG, error) {
	var files []io.Reader
	for _, name := range names {
		err := reading(fsys, name, func(r io.Reader) error { _, err := ReadEEG(r); return err })
		if err != nil {
			return EEG{}, err
		}
		f, err := fsys.Open(name)
		if err != nil {
			return EEG{}, err
		}
		defer f.Close()
		files = append(files, f)
	}
	return ReadEEG(files...)
}

// Described is a recording as its header and its sidecars have it together.
type Described struct {
	// Recording has the events, labels and units that were agreed on, and
	// the notes of both sides. Its samples are those of the recording that
	// it was made from.
	Recording *recording.Recording
	Channels  []Channel // of each signal; zero where the table has no row for it
	EEG       EEG
}

// Bad returns the indexes of the signals that are marked bad.
func (d Described) Bad() []int { return d.where(func(c Channel) bool { return c.Bad }) }

// Others returns the indexes of the signals that the table gives a type by
// which they are no EEG, whatever their names say. References (REF) count as
// EEG.
func (d Described) Others() []int {
	return d.where(func(c Channel) bool { return c.Type != "" && c.Type != "EEG" && c.Type != "REF" })
}

func (d Described) where(holds func(Channel) bool) []int {
	var signals []int
	for i, c := range d.Channels {
		if holds(c) {
			signals = append(signals, i)
		}
	}
	return signals
}

// Apply brings the description and a recording together; the package comment
// says which of them wins where they disagree. The recording stays as it is.
func (d *Description) Apply(rec *recording.Recording) Described {
	own := *rec
	a := &agreement{description: d, recording: &own}
	own.Signals = append([]recording.Signal(nil), rec.Signals...)
	own.Notes = append(append([]string(nil), rec.Notes...), d.Notes...)
	channels := a.channels()
	a.eeg(channels)
	a.events()
	return Described{&own, channels, d.EEG}
}

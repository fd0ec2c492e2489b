package array

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"calotte/layout/rowtable"
	"calotte/topo/recording"
)

const (
	level5Header  = 128
	level5Version = 1
	mostVariables = 4096 // in a file
	mostListed    = 8    // of them in an error
)

// The types of elements that matter here, from memory of the description.
const (
	elementMatrix     = 14
	elementCompressed = 15
)

// isLevel5 reports whether a header ends as that of level 5 does: the version
// and the letters MI, both in the file's own order of bytes.
func isLevel5(start []byte) bool {
	order := orderOf(start)
	return order != nil && order.Uint16(start[124:])>>8 == level5Version
}

func orderOf(start []byte) binary.ByteOrder {
	if len(start) < level5Header {
		return nil
	}
	switch string(start[126:level5Header]) {
	case "IM":
		return binary.LittleEndian
	case "MI":
		return binary.BigEndian
	}
	return nil
}

// A level5 file is read element by element.
type level5 struct {
	r     io.ReaderAt
	size  int64
	order binary.ByteOrder
	unzip inflater
}

// openLevel5 opens a variable.
func openLevel5(r io.ReaderAt, size int64, start []byte, name string) (*Array, error) {
	f := &level5{r: r, size: size, order: orderOf(start)}
	all, err := f.variables()
	if err != nil {
		return nil, err
	}
	v, err := choose(all, name)
	if err != nil {
		return nil, err
	}
	numbers, err := f.numbers(v)
	if err != nil {
		return nil, fmt.Errorf("variable %s: %w", rowtable.Clip(v.name), err)
	}
	return &Array{Kind: recording.Level5, Name: v.name, Shape: v.shape, strides: columnMajor(v.shape),
		numbers: numbers}, nil
}

// A place is where an element lies in the file.
type place struct {
	offset, bytes int64 // of its data
	compressed    bool
}

// variables lists the matrices of the file, unpacking no more of each than its
// head.
func (f *level5) variables() ([]variable, error) {
	var all []variable
	for at := int64(level5Header); at < f.size; {
		tag := make([]byte, 8)
		if f.size-at < int64(len(tag)) {
			return nil, errors.New("the file ends within the tag of an element: it is cut short")
		}
		if _, err := f.r.ReadAt(tag, at); err != nil && err != io.EOF {
			return nil, err
		}
		kind, length := f.order.Uint32(tag), int64(f.order.Uint32(tag[4:]))
		p := place{at + 8, length, kind == elementCompressed}
		if kind != elementMatrix && !p.compressed {
			return nil, fmt.Errorf("variable %d is an element of type %d: expected a matrix (%d or, "+
				"compressed, "+
				"%d); the file is damaged", len(all)+1, kind, elementMatrix, elementCompressed)
		}
		if p.offset+length > f.size {
			return nil, fmt.Errorf("variable %d: it says %d bytes, and the file has %d more: it "+
				"is cut short",
				len(all)+1, length, f.size-p.offset)
		}
		if len(all) == mostVariables {
			return nil, fmt.Errorf("more than %d variables: save the recording alone in a file",
				mostVariables)
		}
		v, err := f.head(p)
		if err != nil {
			return nil, fmt.Errorf("variable %d: %w", len(all)+1, err)
		}
		all = append(all, v)
		at = p.offset + length
		if !p.compressed {
			at += padding(length)
		}
	}
	if len(all) == 0 {
		return nil, errors.New("there is no variable in the file: expected a matrix of sites and samples")
	}
	return all, nil
}

// padding is what fills a length up to whole units of eight bytes.
func padding(length int64) int64 { return -length & 7 }

// choose returns the variable of a name, or the only one that can be meant.
func choose(all []variable, name string) (variable, error) {
	if name != "" {
		i := slices.IndexFunc(all, func(v variable) bool { return v.name == name })
		if i < 0 {
			return variable{}, sayf(ErrVariable, "there is no variable %q: the file holds %s",
				rowtable.Clip(name),
				list(all))
		}
		if err := all[i].usable(); err != nil {
			return variable{}, fmt.Errorf("variable %s: %w", rowtable.Clip(name), err)
		}
		return all[i], nil
	}
	found := slices.DeleteFunc(slices.Clone(all),
		func(v variable) bool { return v.usable() != nil || v.axes() < 2 })
	switch {
	case len(found) == 1:
		return found[0], nil
	case len(found) > 1:
		return variable{}, sayf(ErrVariable, "%d variables could be the recording: name one of %s", len(found),
			list(found))
	case len(all) == 1 && all[0].usable() == nil:
		return all[0], nil
	}
	for _, v := range all {
		if err := v.usable(); err != nil && (v.fault != nil || len(all) == 1) {
			return variable{}, fmt.Errorf("variable %s: %w", rowtable.Clip(v.name), err)
		}
	}
	return variable{}, fmt.Errorf("no variable is numbers of sites and samples: the file holds %s", list(all))
}

// list names variables with what they are.
func list(all []variable) string {
	var texts []string
	for _, v := range all[:min(mostListed, len(all))] {
		texts = append(texts, fmt.Sprintf("%s (%s)", rowtable.Clip(v.name), v))
	}
	if more := len(all) - mostListed; more > 0 {
		texts = append(texts, fmt.Sprintf("%d more", more))
	}
	return strings.Join(texts, ", ")
}

// head reads what a variable says of itself.
func (f *level5) head(p place) (variable, error) {
	section := io.NewSectionReader(f.r, p.offset, p.bytes)
	v, err := variable{}, error(nil)
	if !p.compressed {
		v, err = readVariable(section, f.order, p.bytes)
	} else {
		var r io.Reader
		var length int64
		if r, length, err = f.unpacked(section); err == nil {
			v, err = readVariable(r, f.order, length)
		}
	}
	v.place = p
	return v, err
}

// unpacked begins to unpack a compressed element, and returns how many bytes
// the matrix in it says it has.
func (f *level5) unpacked(section io.Reader) (io.Reader, int64, error) {
	r, err := f.unzip.open(section)
	if err != nil {
		return nil, 0, err
	}
	tag := make([]byte, 8)
	if _, err := io.ReadFull(r, tag); err != nil {
		return nil, 0, damaged(err)
	}
	if kind := f.order.Uint32(tag); kind != elementMatrix {
		return nil, 0, fmt.Errorf("it holds an element of type %d: expected a matrix, %d; the file is damaged",
			kind,
			elementMatrix)
	}
	return r, int64(f.order.Uint32(tag[4:])), nil
}

// numbers finds the numbers of a variable, and unpacks them where need be.
func (f *level5) numbers(v variable) (numbers, error) {
	if !v.place.compressed {
		return stored{f.r, v.place.offset + v.begin, v.form, f.order}, nil
	}
	if v.bytes > leastUnpacked && v.bytes/mostFold > v.place.bytes {
		return nil, fmt.Errorf("it would unpack %d bytes into %d, more than %d fold, which no recording does: "+
			"save it without compression", v.place.bytes, v.bytes, mostFold)
	}
	r, _, err := f.unpacked(io.NewSectionReader(f.r, v.place.offset, v.place.bytes))
	if err != nil {
		return nil, err
	}
	if _, err := io.CopyN(io.Discard, r, v.begin); err != nil {
		return nil, damaged(err)
	}
	unpacked := make([]byte, v.bytes)
	if _, err := io.ReadFull(r, unpacked); err != nil {
		return nil, damaged(err)
	}
	// The sum that guards the stream stands behind its last byte.
	switch _, err := io.CopyN(io.Discard, r, padding(v.bytes)+1); err {
	case io.EOF:
	case nil:
		return nil, errors.New("more follows its numbers than its sizes say: the file is damaged")
	default:
		return nil, damaged(err)
	}
	return stored{bytes.NewReader(unpacked), 0, v.form, f.order}, nil
}

package head

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"
)

// A head file is a JSON object:
//
//	{
//	  "kind": "calotte head",
//	  "version": 1,
//	  "wearer": "P07",
//	  "date": "2026-03-09",
//	  "posture": "sitting",
//	  "circumference_mm": [559, 561],
//	  "nasion_inion_mm": 365,
//	  "ear_ear_mm": 340,
//	  "left_half_ring_mm": 283,
//	  "right_half_ring_mm": 277,
//	  "left_half_ear_mm": 171,
//	  "right_half_ear_mm": 169,
//	  "widest_mm": 571,
//	  "notes": [{"kind": "scar", "side": "left", "place": "behind the ear"}]
//	}
//
// A measure is a number or a list of readings. All but the first two keys and a
// set of measures that [Head.Check] takes may be left out.
type headFile struct {
	Kind          string      `json:"kind"`
	Version       int         `json:"version"`
	Wearer        string      `json:"wearer,omitempty"`
	Date          string      `json:"date,omitempty"`
	Posture       Posture     `json:"posture,omitempty"`
	Circumference readingList `json:"circumference_mm,omitempty"`
	NasionInion   readingList `json:"nasion_inion_mm,omitempty"`
	EarEar        readingList `json:"ear_ear_mm,omitempty"`
	LeftRing      readingList `json:"left_half_ring_mm,omitempty"`
	RightRing     readingList `json:"right_half_ring_mm,omitempty"`
	LeftEar       readingList `json:"left_half_ear_mm,omitempty"`
	RightEar      readingList `json:"right_half_ear_mm,omitempty"`
	Widest        float64     `json:"widest_mm,omitempty"`
	Notes         noteList    `json:"notes,omitempty"`
}

const (
	headKind    = "calotte head"
	headVersion = 1
	maxHeadFile = 1 << 16 // bytes; a head file has some 150
)

// Encode writes the head file of a visit with one reading of each measure. It
// refuses what [Decode] would refuse.
func (h Head) Encode(w io.Writer) error { return h.Visit().Encode(w) }

// Encode writes the head file. It refuses what [DecodeVisit] would refuse.
func (v Visit) Encode(w io.Writer) error {
	if _, err := v.Check(); err != nil {
		return err
	}
	r := v.Readings
	text, err := json.MarshalIndent(headFile{
		Kind: headKind, Version: headVersion,
		Wearer: v.Wearer, Date: v.Date, Posture: v.Posture,
		Circumference: r.Circumference, NasionInion: r.NasionInion, EarEar: r.EarEar,
		LeftRing: r.LeftRing, RightRing: r.RightRing, LeftEar: r.LeftEar, RightEar: r.RightEar,
		Widest: v.Widest, Notes: v.Notes,
	}, "", "  ")
	if err != nil {
		return err
	}
	_, err = w.Write(append(text, '\n'))
	return err
}

// Decode reads the head of a head file. It refuses what [DecodeVisit]
// refuses.
func Decode(r io.Reader) (Head, error) {
	v, err := DecodeVisit(r)
	return v.Head(), err
}

// DecodeVisit reads a head file. It refuses keys that it does not know or meets
// twice, anything after the object, and what [Visit.Check] refuses.
func DecodeVisit(r io.Reader) (Visit, error) {
	text, err := io.ReadAll(io.LimitReader(r, maxHeadFile+1))
	if err != nil {
		return Visit{}, fmt.Errorf("head file: %w", err)
	}
	v, err := decodeVisit(strings.TrimPrefix(string(text), byteOrderMark))
	if err != nil {
		return Visit{}, fmt.Errorf("head file: %w", err)
	}
	return v, nil
}

func decodeVisit(text string) (Visit, error) {
	if len(text) > maxHeadFile {
		return Visit{}, fmt.Errorf("longer than %d bytes: expected a head written by calotte", maxHeadFile)
	}
	var f headFile
	if err := decodeObject(text, f.fields()); err != nil {
		return Visit{}, err
	}
	if f.Kind != headKind {
		return Visit{}, fmt.Errorf("kind is %.40q: expected %q", f.Kind, headKind)
	}
	if f.Version != headVersion {
		return Visit{}, fmt.Errorf("version is %d: this program reads version %d", f.Version, headVersion)
	}
	v := Visit{
		Wearer: f.Wearer, Date: f.Date, Posture: f.Posture, Widest: f.Widest, Notes: f.Notes,
		Readings: Readings{
			Circumference: f.Circumference, NasionInion: f.NasionInion, EarEar: f.EarEar,
			LeftRing: f.LeftRing, RightRing: f.RightRing, LeftEar: f.LeftEar, RightEar: f.RightEar,
		},
	}
	_, err := v.Check()
	return v, err
}

const measureForm = "a number or a list of numbers"

func (f *headFile) fields() []field {
	return []field{
		{"kind", &f.Kind, "a text"},
		{"version", &f.Version, "a whole number"},
		{"wearer", &f.Wearer, "a text"},
		{"date", &f.Date, "a text"},
		{"posture", &f.Posture, "a text"},
		{"circumference_mm", &f.Circumference, measureForm},
		{"nasion_inion_mm", &f.NasionInion, measureForm},
		{"ear_ear_mm", &f.EarEar, measureForm},
		{"left_half_ring_mm", &f.LeftRing, measureForm},
		{"right_half_ring_mm", &f.RightRing, measureForm},
		{"left_half_ear_mm", &f.LeftEar, measureForm},
		{"right_half_ear_mm", &f.RightEar, measureForm},
		{"widest_mm", &f.Widest, "a number"},
		{"notes", &f.Notes, "a list of objects"},
	}
}

const byteOrderMark = "\ufeff"

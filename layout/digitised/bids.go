package digitised

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/rowtable"
)

// Coordinates is the part of a BIDS *_coordsystem.json file that says how to
// read the electrode positions beside it (BIDS 1.8, electroencephalography).
// The zero value says nothing: there was no such file.
type Coordinates struct {
	System      string // a keyword of BIDS; "Other" where the description says all
	Units       string // of positions: "m", "cm" or "mm"; "n/a" or empty where not known
	Description string
	// Landmarks holds positions of NAS, LPA and RPA, in LandmarkUnits. It
	// may be empty or hold others too. Names are spelt as in the file.
	Landmarks      map[string]r3.Vec
	LandmarkSystem string // empty where it is System
	LandmarkUnits  string
}

// The BIDS names of landmarks.
const (
	bidsNasion = "NAS"
	bidsLeft   = "LPA"
	bidsRight  = "RPA"
)

// RAS is how this package writes positions: mm, x to the right ear, y to the
// nasion, z up.
func RAS(s layout.Surface) Coordinates {
	l := s.Landmarks()
	return Coordinates{
		System:      otherSystem,
		Units:       "mm",
		Description: headDescription,
		Landmarks: map[string]r3.Vec{
			bidsNasion: l.Nasion, bidsLeft: l.LeftPreauricular, bidsRight: l.RightPreauricular,
		},
		LandmarkUnits: "mm",
	}
}

// headDescription tells positions that this package wrote from all others.
const headDescription = "Origin at the centre of the head model, in the plane of Fpz, T7, Oz and T8. " +
	"x to the wearer's right ear, y to the nasion, z up."

// inHead reports whether positions are in head coordinates already.
func (c Coordinates) inHead() bool {
	return c.System == otherSystem && c.Units == "mm" && c.Description == headDescription
}

// coordinatesFile has the keys of the BIDS file. The landmarks may be given as
// anatomical landmarks or, in EEG, as fiducials (from memory of BIDS 1.8).
type coordinatesFile struct {
	System              string           `json:"EEGCoordinateSystem"`
	Units               string           `json:"EEGCoordinateUnits"`
	Description         string           `json:"EEGCoordinateSystemDescription,omitempty"`
	Landmarks           map[string]point `json:"AnatomicalLandmarkCoordinates,omitempty"`
	LandmarkSystem      string           `json:"AnatomicalLandmarkCoordinateSystem,omitempty"`
	LandmarkUnits       string           `json:"AnatomicalLandmarkCoordinateUnits,omitempty"`
	LandmarkDescription string           `json:"AnatomicalLandmarkCoordinateSystemDescription,omitempty"`
	Fiducials           map[string]point `json:"FiducialsCoordinates,omitempty"`
	FiducialSystem      string           `json:"FiducialsCoordinateSystem,omitempty"`
	FiducialUnits       string           `json:"FiducialsCoordinateUnits,omitempty"`
}

// A point is three numbers in a JSON array. It has none of them where one is
// n/a or the point is null.
type point []float64

func (p *point) UnmarshalJSON(text []byte) error {
	var values []any
	if err := json.Unmarshal(text, &values); err != nil {
		if string(text) == `"`+rowtable.Missing+`"` {
			return nil
		}
		return fmt.Errorf("%.40s: expected a point such as [0, 98.2, -3.1]", text)
	}
	if values == nil {
		return nil
	}
	numbers := make([]float64, 0, 3)
	for _, v := range values {
		switch v := v.(type) {
		case float64:
			numbers = append(numbers, v)
		case nil:
		case string:
			if v != rowtable.Missing {
				return fmt.Errorf("%.40s: %.40q is no number", text, v)
			}
		default:
			return fmt.Errorf("%.40s: expected a point such as [0, 98.2, -3.1]", text)
		}
	}
	if len(values) != 3 {
		return fmt.Errorf("%.40s: %d numbers, expected the three of a point", text, len(values))
	}
	if len(numbers) == 3 {
		*p = numbers
	}
	return nil
}

// Encode writes the *_coordsystem.json file. Landmarks are rounded to the four
// decimals of the electrode file.
func (c Coordinates) Encode(w io.Writer) error {
	f := coordinatesFile{System: c.System, Units: c.Units, Description: c.Description}
	if len(c.Landmarks) > 0 {
		f.LandmarkSystem, f.LandmarkUnits, f.LandmarkDescription = c.System, c.LandmarkUnits, c.Description
		if c.LandmarkSystem != "" {
			f.LandmarkSystem = c.LandmarkSystem
		}
		f.Landmarks = make(map[string]point, len(c.Landmarks))
		for name, p := range c.Landmarks {
			f.Landmarks[name] = point{round4(p.X), round4(p.Y), round4(p.Z)}
		}
	}
	text, err := json.MarshalIndent(f, "", "  ")
	if err != nil {
		return fmt.Errorf("coordinate system: %w", err)
	}
	_, err = w.Write(append(text, '\n'))
	return err
}

// round4 rounds to four decimals, without a negative zero.
func round4(v float64) float64 { return math.Round(v*1e4)/1e4 + 0 }

// maxCoordinates bounds a file that is read whole; real ones have some 1,000
// bytes.
const maxCoordinates = 1 << 20

// DecodeCoordinates reads a *_coordsystem.json file. Keys that do not matter
// here are passed over, landmarks with n/a for a coordinate are left out. What
// the file says is checked where it is used, in [Digitise], so that a caller
// who knows better can correct it first.
func DecodeCoordinates(r io.Reader) (Coordinates, error) {
	text, err := io.ReadAll(io.LimitReader(r, maxCoordinates))
	if err != nil {
		return Coordinates{}, fmt.Errorf("coordinate system: %w", err)
	}
	var f coordinatesFile
	if err := json.Unmarshal(bytes.TrimPrefix(text, []byte(byteOrderMark)), &f); err != nil {
		return Coordinates{}, fmt.Errorf("coordinate system: %w", err)
	}
	if f.System == "" {
		return Coordinates{}, errors.New("coordinate system: EEGCoordinateSystem is missing: BIDS requires it")
	}
	if len(f.Landmarks) == 0 {
		f.Landmarks, f.LandmarkSystem, f.LandmarkUnits = f.Fiducials, f.FiducialSystem, f.FiducialUnits
	}
	c := Coordinates{
		System: f.System, Units: f.Units, Description: f.Description,
		LandmarkSystem: f.LandmarkSystem, LandmarkUnits: f.LandmarkUnits,
		Landmarks: make(map[string]r3.Vec, len(f.Landmarks)),
	}
	if c.LandmarkUnits == "" {
		c.LandmarkUnits = c.Units
	}
	for name, p := range f.Landmarks {
		if len(p) == 3 {
			c.Landmarks[name] = r3.Vec{X: p[0], Y: p[1], Z: p[2]}
		}
	}
	return c, nil
}

const byteOrderMark = "\ufeff"

package layout

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Coordinates is the part of a BIDS *_coordsystem.json file that says how to read
// the electrode positions beside it (BIDS 1.8, electroencephalography).
type Coordinates struct {
	System      string // "Other" where the description says all
	Units       string // of positions: "m", "cm" or "mm"
	Description string
	// Landmarks holds positions of NAS, LPA and RPA, in LandmarkUnits. It may be
	// empty or hold others too.
	Landmarks     map[string]r3.Vec
	LandmarkUnits string
}

// The BIDS names of landmarks.
const (
	bidsNasion = "NAS"
	bidsLeft   = "LPA"
	bidsRight  = "RPA"
)

// RAS is how this package writes positions: mm, x to the right ear, y to the
// nasion, z up.
func RAS(s Surface) Coordinates {
	l := s.Landmarks()
	return Coordinates{
		System: "Other",
		Units:  "mm",
		Description: "Origin at the centre of the head model, in the plane of Fpz, T7, Oz and T8. " +
			"x to the wearer's right ear, y to the nasion, z up.",
		Landmarks: map[string]r3.Vec{
			bidsNasion: l.Nasion, bidsLeft: l.LeftPreauricular, bidsRight: l.RightPreauricular,
		},
		LandmarkUnits: "mm",
	}
}

// coordinatesFile has the keys of the BIDS file.
type coordinatesFile struct {
	System              string                `json:"EEGCoordinateSystem"`
	Units               string                `json:"EEGCoordinateUnits"`
	Description         string                `json:"EEGCoordinateSystemDescription,omitempty"`
	Landmarks           map[string][3]float64 `json:"AnatomicalLandmarkCoordinates,omitempty"`
	LandmarkSystem      string                `json:"AnatomicalLandmarkCoordinateSystem,omitempty"`
	LandmarkUnits       string                `json:"AnatomicalLandmarkCoordinateUnits,omitempty"`
	LandmarkDescription string                `json:"AnatomicalLandmarkCoordinateSystemDescription,omitempty"`
}

// Encode writes the *_coordsystem.json file. Landmarks are rounded to the four
// decimals of the electrode file.
func (c Coordinates) Encode(w io.Writer) error {
	f := coordinatesFile{System: c.System, Units: c.Units, Description: c.Description}
	if len(c.Landmarks) > 0 {
		f.LandmarkSystem, f.LandmarkUnits, f.LandmarkDescription = c.System, c.LandmarkUnits, c.Description
		f.Landmarks = make(map[string][3]float64, len(c.Landmarks))
		for name, p := range c.Landmarks {
			f.Landmarks[name] = [3]float64{round4(p.X), round4(p.Y), round4(p.Z)}
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

// DecodeCoordinates reads a *_coordsystem.json file. Keys that do not matter here
// are passed over. What the file says is checked where it is used, in
// [ReadElectrodes], so that a caller who knows better can correct it first.
func DecodeCoordinates(r io.Reader) (Coordinates, error) {
	var f coordinatesFile
	if err := json.NewDecoder(r).Decode(&f); err != nil {
		return Coordinates{}, fmt.Errorf("coordinate system: %w", err)
	}
	if f.System == "" {
		return Coordinates{}, errors.New("coordinate system: EEGCoordinateSystem is missing: BIDS requires it")
	}
	c := Coordinates{
		System: f.System, Units: f.Units, Description: f.Description,
		LandmarkUnits: f.LandmarkUnits, Landmarks: make(map[string]r3.Vec, len(f.Landmarks)),
	}
	if c.LandmarkUnits == "" {
		c.LandmarkUnits = c.Units
	}
	for name, p := range f.Landmarks {
		c.Landmarks[name] = r3.Vec{X: p[0], Y: p[1], Z: p[2]}
	}
	return c, nil
}

// millimetres returns the length of a BIDS unit in mm.
func millimetres(unit string) (float64, error) {
	switch unit {
	case "mm":
		return 1, nil
	case "cm":
		return 10, nil
	case "m":
		return 1000, nil
	case "":
		return 0, errors.New("the unit of positions is missing: expected m, cm or mm")
	}
	return 0, fmt.Errorf("unit %q of positions: expected m, cm or mm", unit)
}

// Preauricular points of people from newborns to adults are this far apart, with
// room to spare (common practice, no source).
const minBreadth, maxBreadth = 70, 220 // mm

// check looks at the landmarks: their distance shows whether the unit is right,
// and their directions whether x is right and y front.
func (c Coordinates) check() error {
	mm, err := millimetres(c.LandmarkUnits)
	if err != nil && len(c.Landmarks) > 0 {
		return err
	}
	nasion, hasNasion := c.Landmarks[bidsNasion]
	left, hasLeft := c.Landmarks[bidsLeft]
	right, hasRight := c.Landmarks[bidsRight]
	if !hasNasion || !hasLeft || !hasRight {
		if c.System != "Other" {
			return fmt.Errorf("system %q without NAS, LPA and RPA: axes are not known, expected Other with x right, y front, z up", c.System)
		}
		return nil
	}
	across := r3.Sub(right, left)
	if d := r3.Norm(across) * mm; !(d >= minBreadth && d <= maxBreadth) {
		return fmt.Errorf("LPA and RPA are %.4g mm apart with unit %q: expected %d to %d mm, correct the unit", d, c.LandmarkUnits, minBreadth, maxBreadth)
	}
	front := r3.Sub(nasion, r3.Scale(0.5, r3.Add(left, right)))
	if across.X < axisShare*r3.Norm(across) || front.Y < axisShare*r3.Norm(front) {
		return errors.New("NAS, LPA and RPA are not along the axes: expected x to the right ear and y to the nasion")
	}
	return nil
}

// axisShare is the cosine of 45°: a direction that keeps to it is nearer to its
// axis than to any other.
const axisShare = math.Sqrt2 / 2

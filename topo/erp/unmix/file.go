package unmix

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"calotte/layout"
	"calotte/layout/rowtable"
	"calotte/topo/provenance"
)

// A File is a separation as it is kept beside its table of decisions.
type File struct {
	Kind       string            `json:"kind"` // fileKind
	Name       string            `json:"name"`
	Rows       []string          `json:"rows"`      // canonical names of sites and others
	Reference  string            `json:"reference"` // recorded, as the labels give it
	Rate       float64           `json:"rate_hz"`
	Filter     string            `json:"filter"`
	Seconds    int               `json:"seconds"`
	Gross      int               `json:"gross_seconds_left_out"`
	LeftOut    []Bad             `json:"sites_left_out,omitempty"`
	Dimensions int               `json:"dimensions"` // of the data, all of them
	Steps      int               `json:"steps"`
	Gradient   float64           `json:"gradient"`
	Tolerance  float64           `json:"gradient_wanted"`
	Reached    bool              `json:"gradient_reached"`
	Vertical   string            `json:"vertical_eye_signal,omitempty"`
	Horizontal string            `json:"sideways_eye_signal,omitempty"`
	Components []Component       `json:"components"`
	Weights    [][]float64       `json:"weights"` // component × row, per µV
	Maps       [][]float64       `json:"maps"`    // component × row, µV
	Provenance provenance.Record `json:"provenance"`
}

// A Bad is a site that no component knows, and why.
type Bad struct {
	Site   string `json:"site"`
	Reason string `json:"reason"`
}

// A Component is what is told of one: what is not known is nil.
type Component struct {
	Component int      `json:"component"`
	Looks     string   `json:"looks_like"`
	Remove    bool     `json:"suggested_to_remove"`
	Variance  float64  `json:"variance_percent"`
	LargestAt string   `json:"largest_at"`
	Blink     *float64 `json:"blink_r"`
	Sideways  *float64 `json:"sideways_r"`
	Front     *float64 `json:"front_share"`
	Fast      *float64 `json:"above_20hz"`
	Slope     *float64 `json:"slope"`
	Rhythm    *float64 `json:"rhythm"`
	Kurtosis  *float64 `json:"map_kurtosis"`
	Mains     *float64 `json:"mains"`
}

// fileKind tells the file from others of the program.
const fileKind = "independent components"

// Tell fills in the components of a file: those that look like something that
// is no brain are suggested to be removed.
func (f *File) Tell(s *Separation, traits []Traits) {
	f.Kind, f.Tolerance = fileKind, s.Wanted
	f.Dimensions = s.Dimensions
	f.Steps, f.Gradient, f.Reached = s.Steps, s.Gradient, s.Reached
	for k, t := range traits {
		looks := t.Look(len(f.Rows))
		f.Components = append(f.Components, Component{Component: k + 1, Looks: looks, Remove: looks != Nothing,
			Variance: t.Share, LargestAt: f.Rows[t.Row], Blink: finite(t.Blink),
			Sideways: finite(t.Sideways), Front: finite(t.Front),
			Fast: finite(t.Fast), Slope: finite(t.Slope), Rhythm: finite(t.Rhythm),
			Kurtosis: finite(t.Kurtosis),
			Mains:    finite(t.Mains)})
		f.Weights = append(f.Weights, mat.Row(nil, k, s.Weights))
		f.Maps = append(f.Maps, mat.Col(nil, k, s.Maps))
	}
}

// finite is the number where it is one that a file can hold.
func finite(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	return &x
}

// Mark is a short text that the weights alone have.
func (f *File) Mark() string {
	h := sha256.New()
	for _, row := range f.Weights {
		for _, x := range row {
			binary.Write(h, binary.LittleEndian, math.Float64bits(x))
		}
	}
	return "w" + hex.EncodeToString(h.Sum(nil)[:4])
}

// ReadFile reads what was kept. What no separation can be is an error.
func ReadFile(content []byte) (*File, error) {
	var f File
	if err := json.Unmarshal(content, &f); err != nil {
		return nil, fmt.Errorf("not the weights of independent components: %w", err)
	}
	if f.Kind != fileKind {
		return nil, errors.New("not the weights of independent components, as calotte unmix writes them beside " +
			"its table")
	}
	if len(f.Rows) > layout.MostSites {
		return nil, fmt.Errorf("%d rows: expected at most %d", len(f.Rows), layout.MostSites)
	}
	for i, name := range f.Rows {
		if slices.Contains(f.Rows[:i], name) {
			return nil, fmt.Errorf("site %q stands there twice: the file is damaged, run calotte "+
				"unmix again",
				rowtable.Clip(name))
		}
	}
	n := len(f.Components)
	if n == 0 || n > len(f.Rows) || len(f.Weights) != n || len(f.Maps) != n {
		return nil, fmt.Errorf("%d components of %d rows with %d weights and %d maps: the file is damaged, "+
			"run calotte unmix again", n, len(f.Rows), len(f.Weights), len(f.Maps))
	}
	for k := range n {
		if f.Components[k].Component != k+1 {
			return nil, fmt.Errorf("component %d stands where %d should: the file is damaged, run "+
				"calotte unmix "+
				"again", f.Components[k].Component, k+1)
		}
		for _, row := range [][]float64{f.Weights[k], f.Maps[k]} {
			if len(row) != len(f.Rows) || slices.ContainsFunc(row, beyond) {
				return nil, fmt.Errorf("component %d has no weight, or one beyond what a recording "+
					"gives, at a "+
					"site: the file is damaged, run calotte unmix again", k+1)
			}
		}
	}
	return &f, nil
}

// beyond says of a weight or a map's value that no recording gives it.
func beyond(x float64) bool { return !(math.Abs(x) < 1e9) }

// Without is what leaves the decisions' components out of the rows, row × row:
// the rows times it are those without them.
func (f *File) Without(decisions []Decision) *mat.Dense {
	m := identity(len(f.Rows))
	for _, d := range decisions {
		if !d.Remove {
			continue
		}
		for i, a := range f.Maps[d.Component-1] {
			for j, w := range f.Weights[d.Component-1] {
				m.Set(i, j, m.At(i, j)-a*w)
			}
		}
	}
	return m
}

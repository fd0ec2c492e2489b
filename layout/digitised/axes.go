package digitised

import (
	"fmt"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
)

// Axes says where the x, y and z axis of a coordinate system point, by a letter
// each: R or L to the wearer's right or left, A or P to the front (anterior) or
// back (posterior), S or I up (superior) or down (inferior). "RAS" is this
// package's own. The empty text means: not known.
type Axes string

// letters of the six directions, as components of x right, y front, z up.
var axisDirections = map[byte]r3.Vec{
	'R': {X: 1}, 'L': {X: -1},
	'A': {Y: 1}, 'P': {Y: -1},
	'S': {Z: 1}, 'I': {Z: -1},
}

// ParseAxes reads three letters such as "ALS", in any case.
func ParseAxes(text string) (Axes, error) {
	a := strings.ToUpper(strings.TrimSpace(text))
	if !validAxes(a) {
		return "", fmt.Errorf("axes %q: expected three letters for x, y and z, one of R and L, one of A "+
			"and P, one "+
			"of S and I, such as RAS", text)
	}
	return Axes(a), nil
}

// validAxes asks for one letter of each of the three pairs.
func validAxes(text string) bool {
	if len(text) != 3 {
		return false
	}
	var sum r3.Vec
	for i := range len(text) {
		d := axisDirections[text[i]]
		sum = r3.Add(sum, r3.Vec{X: d.X * d.X, Y: d.Y * d.Y, Z: d.Z * d.Z})
	}
	return sum == r3.Vec{X: 1, Y: 1, Z: 1}
}

// RAS turns a vector along these axes into one along x right, y front and z up.
// Axes that are not known leave it as it is.
func (a Axes) RAS(v r3.Vec) r3.Vec {
	if a == "" {
		return v
	}
	var sum r3.Vec
	for i, component := range [3]float64{v.X, v.Y, v.Z} {
		sum = r3.Add(sum, r3.Scale(component, axisDirections[a[i]]))
	}
	return sum
}

// allAxes lists the 48 ways to point three axes.
func allAxes() []Axes {
	var all []Axes
	const letters = "RLAPSI"
	for i := range len(letters) {
		for j := range len(letters) {
			for k := range len(letters) {
				if text := string([]byte{letters[i], letters[j], letters[k]}); validAxes(text) {
					all = append(all, Axes(text))
				}
			}
		}
	}
	return all
}

// rightHanded reports whether x, y and z follow each other as thumb, index and
// middle finger of the right hand.
func (a Axes) rightHanded() bool {
	x, y, z := axisDirections[a[0]], axisDirections[a[1]], axisDirections[a[2]]
	return r3.Dot(r3.Cross(x, y), z) > 0
}

const otherSystem = "Other"

// A system is a keyword of EEGCoordinateSystem, folded.
type system struct {
	axes        Axes
	betweenEars bool // its origin is between the preauricular points
}

// systems are the keywords that BIDS 1.8 allows for EEG, with the axes that it
// gives them (from memory of its appendix on coordinate systems).
var systems = map[string]system{
	"ctf":            {"ALS", true},
	"4dbti":          {"ALS", true},
	"kityokogawa":    {"ALS", true},
	"eeglab":         {"ALS", true},
	"eeglab-hj":      {"ALS", true},
	"elektaneuromag": {"RAS", true},
	"chietiitab":     {"RAS", true},
	"captrak":        {"RAS", true},
	"besa":           {"RAS", false},
	"acpc":           {"RAS", false},
}

// templates begin the keywords of the standard brains that BIDS lists, in all
// their versions. They are RAS (from memory).
var templates = []string{"mni", "icbm", "ixi", "fsaverage", "fslr", "nihpd", "oasis", "uncinfant", "talairach"}

// system looks the keyword up. Of Other, the description may give the axes as a
// word of three capitals.
func (c Coordinates) system() system {
	key := layout.Fold(c.System)
	if s, ok := systems[key]; ok {
		return s
	}
	for _, t := range templates {
		if strings.HasPrefix(key, t) {
			return system{axes: "RAS"}
		}
	}
	return system{axes: axesIn(c.Description)}
}

// axesIn finds the one word of a text that gives axes.
func axesIn(text string) Axes {
	var found Axes
	for _, word := range strings.FieldsFunc(text,
		func(r rune) bool { return r < 'A' || 'Z' < r && r < 'a' || r > 'z' }) {
		if !validAxes(word) {
			continue
		}
		if found != "" && found != Axes(word) {
			return ""
		}
		found = Axes(word)
	}
	return found
}

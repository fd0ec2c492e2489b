package head

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"calotte/layout"
	"calotte/layout/internal/decimal"
)

// A Visit is what was measured and noted of one wearer at one time; a head file
// holds one.
type Visit struct {
	Wearer   string // a code, not a name; may be empty
	Date     string // year-month-day as in 2026-03-09; may be empty
	Posture  Posture
	Readings Readings
	Widest   float64 // circumference where the head is widest, in mm, for the cap's size only; or zero
	Notes    []Note
}

// Readings are the tape's readings in mm, one or more of each measure in the
// order in which they were taken, or none. Their mean is used.
type Readings struct {
	Circumference, NasionInion, EarEar []float64
	LeftRing, RightRing                []float64
	LeftEar, RightEar                  []float64
}

// A Posture is how the wearer was held while measured.
type Posture string

const (
	Sitting  Posture = "sitting"
	Standing Posture = "standing"
	Lying    Posture = "lying"
)

// A Note is something about a head that the person who places electrodes, or
// reads the result, has to know.
type Note struct {
	Kind  NoteKind
	Side  layout.Side
	Place string // in free words, never a name; may be empty
}

// A NoteKind says what a note is about.
type NoteKind string

const (
	InionUncertain NoteKind = "inion uncertain" // could not be felt for sure
	Scar           NoteKind = "scar"
	Shunt          NoteKind = "shunt"
	Plate          NoteKind = "plate"
	SkullDefect    NoteKind = "skull defect"
)

const (
	maxPlace    = 200 // bytes of a note's place
	maxReadings = 9   // of a measure
)

// Readings of one measure that differ by more than this are warned of (common
// practice, no source).
const readingTolerance = 5 // mm

// A reading pairs the readings of a measure with its name and its value in a
// head.
type reading struct {
	name string
	list *[]float64
	mean *float64
}

func (r *Readings) each(h *Head) []reading {
	return []reading{
		{"circumference", &r.Circumference, &h.Circumference},
		{"nasion-inion arc", &r.NasionInion, &h.NasionInion},
		{"ear-to-ear arc", &r.EarEar, &h.EarEar},
		{"left half ring", &r.LeftRing, &h.Halves.LeftRing},
		{"right half ring", &r.RightRing, &h.Halves.RightRing},
		{"left half ear arc", &r.LeftEar, &h.Halves.LeftEar},
		{"right half ear arc", &r.RightEar, &h.Halves.RightEar},
	}
}

// Head returns the head with the means of the readings; a whole that was not
// measured is the sum of its halves.
func (v Visit) Head() Head {
	h := Head{Wearer: v.Wearer}
	for _, r := range v.Readings.each(&h) {
		*r.mean = mean(*r.list)
	}
	return h.summed()
}

// mean is exact for one reading.
func mean(list []float64) float64 {
	sum := 0.0
	for _, x := range list {
		sum += x
	}
	return sum / float64(max(1, len(list)))
}

// Visit returns the head as a visit with one reading of each measure.
func (h Head) Visit() Visit {
	v := Visit{Wearer: h.Wearer}
	for _, r := range v.Readings.each(&h) {
		if *r.mean != 0 {
			*r.list = []float64{*r.mean}
		}
	}
	return v
}

// Check refuses entries that cannot be and measures that [Head.Check] refuses.
// It returns that method's warnings, and others about readings that differ and
// a widest circumference that is not the widest.
func (v Visit) Check() (warnings []string, err error) {
	if err := v.checkEntries(); err != nil {
		return nil, err
	}
	h := v.Head()
	warnings, err = h.Check()
	if err != nil {
		return nil, err
	}
	for _, r := range v.Readings.each(&h) {
		if len(*r.list) == 0 {
			continue
		}
		lowest, highest := slices.Min(*r.list), slices.Max(*r.list)
		if highest-lowest > readingTolerance {
			warnings = append(warnings,
				fmt.Sprintf("readings of the %s differ by %s mm (%s to %s): measure once more",
					r.name, decimal.Digits(highest-lowest, 4), decimal.Digits(lowest, 5),
					decimal.Digits(highest, 5)))
		}
	}
	if v.Widest > 0 && v.Widest < h.Circumference-readingTolerance {
		warnings = append(warnings,
			fmt.Sprintf("the widest circumference %s mm is less than the ring's %s mm: measure "+
				"again to be sure",
				decimal.Digits(v.Widest, 5), decimal.Digits(h.Circumference, 5)))
	}
	return warnings, nil
}

func (v Visit) checkEntries() error {
	for _, r := range v.Wearer {
		if !strings.ContainsRune(letters+"0123456789-_", r) {
			// which is not repeated
			return errors.New("wearer: expected a code of letters, digits, - and _, not a name")
		}
	}
	if _, err := time.Parse(time.DateOnly, v.Date); v.Date != "" && err != nil {
		return fmt.Errorf("date is %.40q: expected year-month-day as in 2026-03-09", v.Date)
	}
	if !slices.Contains([]Posture{"", Sitting, Standing, Lying}, v.Posture) {
		return fmt.Errorf("posture is %.40q: expected sitting, standing or lying", v.Posture)
	}
	if m := (measure{"widest circumference", v.Widest, MinCircumference, MaxCircumference, 1}); v.Widest != 0 {
		if err := m.check(); err != nil {
			return err
		}
	}
	for _, r := range v.Readings.each(&Head{}) {
		if err := checkReadings(*r.list); err != nil {
			return fmt.Errorf("%s: %w", r.name, err)
		}
	}
	for i, n := range v.Notes {
		if err := n.check(); err != nil {
			return fmt.Errorf("note %d: %w", i+1, err)
		}
	}
	return nil
}

func checkReadings(list []float64) error {
	if len(list) > maxReadings {
		return fmt.Errorf("%d readings: expected %d at most", len(list), maxReadings)
	}
	for _, x := range list {
		if !(x > 0) || math.IsInf(x, 0) {
			return fmt.Errorf("a reading of %g mm: expected a positive number", x)
		}
	}
	return nil
}

func (n Note) check() error {
	switch {
	case !slices.Contains([]NoteKind{InionUncertain, Scar, Shunt, Plate, SkullDefect}, n.Kind):
		return fmt.Errorf("kind is %.40q: expected inion uncertain, scar, shunt, plate or skull defect", n.Kind)
	case !slices.Contains([]layout.Side{layout.LeftSide, layout.RightSide, layout.Midline}, n.Side):
		return fmt.Errorf("side is %.40q: expected left, right or midline, the wearer's", n.Side)
	case n.Kind == InionUncertain && n.Side != layout.Midline:
		return errors.New("the inion is on the midline: give that as the side")
	case len(n.Place) > maxPlace:
		return fmt.Errorf("a place of %d bytes: expected %d at most", len(n.Place), maxPlace)
	case strings.ContainsFunc(n.Place, func(r rune) bool { return r == utf8.RuneError || unicode.IsControl(r) }):
		return fmt.Errorf("place is %q: expected one line of text", n.Place)
	}
	return nil
}

const letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"

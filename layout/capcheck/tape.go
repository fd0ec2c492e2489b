package capcheck

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"sync"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/internal/decimal"
	"calotte/layout/internal/geometry"
)

// A Tape is a distance laid with a tape from a landmark to an electrode of the
// fitted cap.
type Tape struct {
	From     layout.Name `json:"from"` // Nz, Iz, LPA or RPA
	To       layout.Name `json:"to"`
	Distance float64     `json:"distance"` // mm
}

// String gives the two ends: "Nz-Fpz".
func (t Tape) String() string { return string(t.From + "-" + t.To) }

// ParseTapes reads distances such as "Nz-Fpz 4.2cm, Iz-Oz 3.0cm, LPA-T7 34mm".
// Each is a landmark and a site, in either order, and a length in mm or cm. A
// dash may stand for the hyphen. Landmarks may be spelt as they are in files of
// digitised points.
func ParseTapes(text string) ([]Tape, error) {
	if number := decimalComma().FindString(text); number != "" {
		return nil, fmt.Errorf("%q: write decimals with a point, such as %s; a comma parts two tapes", number,
			strings.Replace(number, ",", ".", 1))
	}
	text = dashes.Replace(text)
	var tapes []Tape
	for item := range strings.SplitSeq(text, ",") {
		item = strings.TrimSpace(item)
		t, err := parseTape(item)
		if err != nil {
			return nil, fmt.Errorf("tape %q: %w", item, err)
		}
		tapes = append(tapes, t)
	}
	return tapes, checkTwice(tapes)
}

// decimalComma is a comma between two digits: tapes begin with a letter.
var decimalComma = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`[0-9]+,[0-9]+`) })

// dashes that stand for a hyphen where text was copied from a page.
var dashes = strings.NewReplacer("–", "-", "‐", "-", "‑", "-", "−", "-")

func checkTwice(tapes []Tape) error {
	given := map[string]bool{}
	for _, t := range tapes {
		if given[t.String()] {
			return fmt.Errorf("tape %s is given twice: keep one", t)
		}
		given[t.String()] = true
	}
	return nil
}

func parseTape(item string) (Tape, error) {
	if item == "" {
		return Tape{}, errors.New("expected a distance such as Nz-Fpz 4.2cm")
	}
	if strings.Trim(item, "0123456789mc. ") == "" {
		return Tape{}, errors.New("expected a landmark and a site before the length, such as Nz-Fpz " +
			"4.2cm; write " +
			"decimals with a point")
	}
	ends, length, ok := strings.Cut(item, " ")
	if !ok {
		return Tape{}, errors.New("expected a blank between sites and length, such as Nz-Fpz 4.2cm")
	}
	one, other, ok := strings.Cut(ends, "-")
	if !ok {
		return Tape{}, errors.New("expected two ends, such as Nz-Fpz 4.2cm")
	}
	t, err := tapeBetween(one, other)
	if err != nil {
		return Tape{}, err
	}
	t.Distance, err = parseLength(strings.ReplaceAll(length, " ", ""))
	return t, err
}

// tapeBetween puts the landmark first.
func tapeBetween(one, other string) (Tape, error) {
	var ends [2]layout.Name
	for i, text := range [2]string{one, other} {
		n, ok := layout.ParseLandmark(text)
		if !ok {
			var err error
			if n, err = layout.Parse(text); err != nil {
				return Tape{}, err
			}
		}
		ends[i] = n
	}
	if !tapeStart(ends[0]) && tapeStart(ends[1]) {
		ends[0], ends[1] = ends[1], ends[0]
	}
	t := Tape{From: ends[0], To: ends[1]}
	return t, t.check()
}

// tapeStart reports whether a name is felt on the head, without a cap.
func tapeStart(n layout.Name) bool { return n == "Nz" || n == "Iz" || n == "LPA" || n == "RPA" }

func (t Tape) check() error {
	switch {
	case !tapeStart(t.From):
		return fmt.Errorf("neither %s nor %s is a landmark: measure from Nz, Iz, LPA or RPA", t.From, t.To)
	case tapeStart(t.To):
		return fmt.Errorf("%s and %s are both landmarks: measure to an electrode of the cap", t.From, t.To)
	case t.To.Kind() != layout.Scalp:
		return fmt.Errorf("%q is not a site of the scalp: measure to an electrode such as Fpz", t.To)
	}
	return nil
}

// tapeUnits are what a tape is read in.
var tapeUnits = [...]struct {
	name string
	mm   float64
}{{"mm", 1}, {"cm", 10}}

func parseLength(text string) (float64, error) {
	for _, u := range tapeUnits {
		number, ok := strings.CutSuffix(text, u.name)
		if !ok {
			continue
		}
		v, err := strconv.ParseFloat(number, 64)
		if err != nil || !(v > 0) || math.IsInf(v*u.mm, 0) {
			return 0, fmt.Errorf("length %q: expected a number and mm or cm, such as 4.2cm", text)
		}
		return v * u.mm, nil
	}
	return 0, fmt.Errorf("length %q has no unit: expected mm or cm, such as 4.2cm", text)
}

// A Reading is what one tape says.
type Reading struct {
	Tape
	Should  float64 `json:"should"`  // mm, where the electrode belongs
	Off     float64 `json:"off"`     // measured minus should, mm
	Remains float64 `json:"remains"` // the same less what the turn explains, mm
}

// usualTapeError is the standard error of one reading, in mm (common practice,
// no source).
const usualTapeError = 2

// farTape is a difference in mm that no cap on a head has.
const farTape = 60

// CheckTapes tells from a few tapes, without a digitiser, how a cap sits on a
// head: each is laid from a landmark to an electrode of the fitted cap. The
// tape lies along the rule's arc where one runs from the landmark over the site
// (Nz-Fpz, Iz-Oz, LPA-T7, RPA-T8, Nz-Fz …), else the shortest way over the skin
// (LPA-Fpz).
//
// Pitch is seen by Nz-Fpz and Iz-Oz, roll by LPA-T7 and RPA-T8. Yaw moves these
// four sites sideways and changes none of them: it needs two more, such as
// LPA-Fpz and RPA-Fpz. Angles that the tapes do not see, with an error of more
// than 3°, are not known, and the advice asks for the tape that would tell most
// next. The errors come from that of a reading.
func CheckTapes(head layout.Surface, tapes []Tape, o Options) (Check, error) {
	if err := o.check(); err != nil {
		return Check{}, err
	}
	if len(tapes) == 0 {
		return Check{}, errors.New("no tapes: expected some such as Nz-Fpz 4.2cm, Iz-Oz 3.0cm, LPA-T7 3.4cm, " +
			"RPA-T8 3.9cm")
	}
	if err := checkTwice(tapes); err != nil {
		return Check{}, err
	}
	if o.TapeError == 0 {
		o.TapeError = usualTapeError
	}
	lines := make([]tapeLine, len(tapes))
	c := Check{Limit: o.Limit, ReadingError: o.TapeError}
	for i, t := range tapes {
		var err error
		if lines[i], err = newTapeLine(head, t.From, t.To); err != nil {
			return Check{}, fmt.Errorf("tape %s: %w", t, err)
		}
		if err := lines[i].checkReading(t.Distance); err != nil {
			return Check{}, fmt.Errorf("tape %s: %w", t, err)
		}
		c.Tapes = append(c.Tapes, Reading{Tape: t, Should: lines[i].should, Off: t.Distance - lines[i].should})
	}
	c.fitTapes(lines, o.TapeError)
	if err := c.addEdges(head); err != nil {
		return Check{}, err
	}
	c.judge()
	if err := c.advise(head); err != nil {
		return Check{}, err
	}
	return c, c.adviseNext(head, o.TapeError)
}

// A tapeLine is the way of a tape on a head whose cap is in place.
type tapeLine struct {
	from, to r3.Vec
	should   float64
}

func newTapeLine(head layout.Surface, from, to layout.Name) (tapeLine, error) {
	if err := (Tape{From: from, To: to}).check(); err != nil {
		return tapeLine{}, err
	}
	placed, err := layout.Place(head, []layout.Name{to})
	if err != nil {
		return tapeLine{}, err
	}
	site := placed[0]
	t := tapeLine{from: head.Landmarks().Named()[from], to: site.Position}
	if geometry.AngleBetween(t.from, t.to) < 0.01 {
		return tapeLine{}, fmt.Errorf("%s is at %s: measure to another electrode", to, from)
	}
	t.should, err = t.length(head, site, from)
	return t, err
}

// length follows the arc over the vertex that ends at the landmark, where the
// site is on it.
func (t tapeLine) length(head layout.Surface, site layout.Placement, from layout.Name) (float64, error) {
	rule, _ := layout.RuleOf(layout.Name(site.Name))
	if rule.Via != "Cz" || rule.From != from && rule.To != from {
		return head.Distance(t.from, t.to)
	}
	if rule.From == from {
		return site.Distance, nil
	}
	arc, err := rule.Section(head)
	if err != nil {
		return 0, err
	}
	return arc.Length() - site.Distance, nil
}

// checkReading refuses what no cap on this head gives.
func (t tapeLine) checkReading(distance float64) error {
	if !(distance > 0) {
		return fmt.Errorf("%g mm: expected more than 0", distance)
	}
	if math.Abs(distance-t.should) <= farTape && distance > t.should/5 {
		return nil
	}
	written := decimal.Digits(distance, 3)
	near := func(d float64) bool { return math.Abs(d-t.should) <= t.should/2 }
	switch {
	case near(10 * distance):
		return fmt.Errorf("%s mm: expected some %.0f mm: is it %s cm?", written, t.should, written)
	case near(distance / 10):
		return fmt.Errorf("%s mm: expected some %.0f mm: is it %s mm?", written, t.should,
			decimal.Digits(distance/10, 3))
	}
	return fmt.Errorf("%s mm: expected some %.0f mm on this head, measure again", written, t.should)
}

// change is by how much a turn of the cap lengthens the tape.
func (t tapeLine) change(rotation r3.Vec) float64 { return t.moved(t.to, rotation) }

// moved is the same where the site is elsewhere before the turn.
func (t tapeLine) moved(to, rotation r3.Vec) float64 {
	now := geometry.AngleBetween(t.from, geometry.Turned(to, rotation))
	return t.radius() * (now - geometry.AngleBetween(t.from, t.to))
}

func (t tapeLine) radius() float64 { return (r3.Norm(t.from) + r3.Norm(t.to)) / 2 }

// gradient is the change for each radian about each axis, of a site that is
// elsewhere before the turn: it moves straight away from a landmark by a turn
// about the normal of the plane through both.
func (t tapeLine) gradient(to, rotation r3.Vec) r3.Vec {
	return r3.Scale(t.radius(), r3.Unit(r3.Cross(t.from, geometry.Turned(to, rotation))))
}

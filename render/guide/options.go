package guide

import (
	"fmt"
	"strings"
	"time"

	"calotte/layout"
	"calotte/topo/unit"
)

// Options say how a guide is made. The zero value is a guide in English on A4
// for the 10-20 system, for a technician behind a sitting wearer.
type Options struct {
	Sites []layout.Name // where electrodes go; none means the 10-20 system
	Paper Paper
	Text  *Text // a lab's own words; nil means English

	// the date as 2026-03-09; none means the visit's, and none at all
	// leaves lines to write on
	Date, Initials    string
	Ground, Reference string // a site's name or a few words; empty leaves a line
	Stand             Stand
	Posture           Posture
	Caps              []Cap // the lab's cap sizes; none means common practice

	// Bar is what a ruler reads on the 100 mm bar of a first print. The
	// strips are drawn larger or smaller by as much, so that the next print
	// is true. Zero means 100 mm.
	Bar unit.Length
	// NoStrips leaves the strips out.
	NoStrips bool
}

// Paper is a size of paper, upright.
type Paper int

const (
	A4     Paper = iota // 210 × 297 mm
	Letter              // 8.5 × 11 in
)

func (p Paper) size() (width, height float64) {
	if p == Letter {
		return 215.9, 279.4
	}
	return 210, 297
}

var paperNames = []string{"A4", "Letter"}

func (p Paper) String() string         { return nameOf(paperNames, int(p)) }
func (p *Paper) Set(text string) error { return choose(p, text, "paper", paperNames) }
func (p Paper) Type() string           { return "paper" }

// Stand is where the technician stands when the electrodes go on.
type Stand int

const (
	Behind Stand = iota // the wearer's left is on the technician's left
	Front               // the wearer's left is on the technician's right
)

var standNames = []string{"behind", "front"}

func (s Stand) String() string         { return nameOf(standNames, int(s)) }
func (s *Stand) Set(text string) error { return choose(s, text, "stand", standNames) }
func (s Stand) Type() string           { return "stand" }

// Posture is how the wearer rests. The head's back is out of reach when it
// lies on a bed: its sites come first, while the wearer sits. Against a
// headrest they cannot stay on, and are marked as not reached.
type Posture int

const (
	Sitting Posture = iota
	Lying
	Headrest
)

var postureNames = []string{"sitting", "lying", "headrest"}

func (p Posture) String() string         { return nameOf(postureNames, int(p)) }
func (p *Posture) Set(text string) error { return choose(p, text, "posture", postureNames) }
func (p Posture) Type() string           { return "posture" }

func nameOf(names []string, i int) string {
	if i < 0 || i >= len(names) {
		return fmt.Sprintf("unknown (%d)", i)
	}
	return names[i]
}

func choose[T ~int](value *T, text, what string, names []string) error {
	for i, n := range names {
		if strings.EqualFold(strings.TrimSpace(text), n) {
			*value = T(i)
			return nil
		}
	}
	return fmt.Errorf("unknown %s %q: expected %s", what, text, strings.Join(names, " or "))
}

// A Cap is one size of cap and the circumferences that it is made for, the
// first included, the second not.
type Cap struct {
	Name     string
	From, To unit.Length
}

// commonCaps is the step of many makers (common practice, no source).
var commonCaps = []Cap{
	{"38–42", 380, 420}, {"42–46", 420, 460}, {"46–50", 460, 500}, {"50–54", 500, 540},
	{"54–58", 540, 580}, {"58–62", 580, 620}, {"62–66", 620, 660},
}

// capFor finds the size for the head where it is widest, else for its ring; ok
// is false between and beyond the sizes.
func (b *book) capFor(of *plan) (c Cap, lab, ok bool) {
	circumference := of.head.Circumference
	if b.visit.Widest > 0 {
		circumference = b.visit.Widest
	}
	caps := commonCaps
	if lab = len(b.o.Caps) > 0; lab {
		caps = b.o.Caps
	}
	for _, c := range caps {
		if circumference >= float64(c.From) && circumference < float64(c.To) {
			return c, lab, true
		}
	}
	return Cap{}, lab, false
}

// correction is how much larger the strips are drawn than they should print.
func (o *Options) correction() float64 {
	if o.Bar == 0 {
		return 1
	}
	return 100 / float64(o.Bar)
}

// A printer that is farther off than this is set to fit the page.
const barTolerance = 6 // mm

// Check refuses options that no guide can be made with, before any work: more
// sites than a page holds, a date that is none, a printer's bar or cap sizes
// that cannot be.
func (o *Options) Check() error {
	if len(o.Sites) > mostSites {
		return fmt.Errorf("%d sites: a guide has room for %d that can be read at arm's length, as the 89 of "+
			"10-10; give fewer", len(o.Sites), mostSites)
	}
	if _, err := time.Parse(time.DateOnly, o.Date); o.Date != "" && err != nil {
		return fmt.Errorf("date is %.40q: expected year-month-day as in 2026-03-09", o.Date)
	}
	if !(o.Bar == 0 || o.Bar >= 100-barTolerance && o.Bar <= 100+barTolerance) {
		return fmt.Errorf("the 100 mm bar measured %v: expected %d to %d mm; print at 100 %%, without fitting "+
			"to the page", o.Bar, 100-barTolerance, 100+barTolerance)
	}
	for _, c := range o.Caps {
		if c.Name == "" || !(c.From < c.To) {
			return fmt.Errorf("cap size %q runs from %v to %v: expected a name, and the smaller "+
				"circumference first",
				c.Name, c.From, c.To)
		}
	}
	for _, e := range []struct {
		what       string
		value, end int
	}{
		{"paper", int(o.Paper), len(paperNames)}, {"stand", int(o.Stand), len(standNames)},
		{"posture", int(o.Posture), len(postureNames)},
	} {
		if e.value < 0 || e.value >= e.end {
			return fmt.Errorf("%s %d is unknown", e.what, e.value)
		}
	}
	return nil
}

package guide

import (
	"calotte/layout"
	"calotte/layout/head"
	"calotte/render/canvas"
)

// Pages makes the guide of one head: sheet 1 with its distances, the cautions
// on its back, 1b for caps, 2 with the checks, 3 with the head as the
// technician stands, and the strips. The visit holds what the tape read and
// what was found; its wearer is a code. The surface is where sites are placed:
// the model of the same head, or its scan. Whether the measures were assumed is
// for the caller to know and to refuse. Options.Check finds the caller's own
// mistakes before any work.
func Pages(s layout.Surface, v head.Visit, o Options) ([]canvas.Figure, error) {
	if o.Date == "" {
		o.Date = v.Date
	}
	b, err := newBook(&o, v.Wearer)
	if err != nil {
		return nil, err
	}
	b.visit = v
	p, err := newPlan(s, v.Head(), &o)
	if err != nil {
		return nil, err
	}
	for _, sheet := range []func(*plan) error{b.distances, b.capChecks, b.checks, b.asYouStand, b.strips} {
		if err := sheet(p); err != nil {
			return nil, err
		}
	}
	return b.finish()
}

// Blank makes the guide for any head, before a number exists.
func Blank(o Options) ([]canvas.Figure, error) {
	b, err := newBook(&o, "")
	if err != nil {
		return nil, err
	}
	b.landmarks()
	b.cautions(sheetBlank)
	b.fan()
	b.ladder()
	return b.finish()
}

func newBook(o *Options, code string) (*book, error) {
	if err := o.Check(); err != nil {
		return nil, err
	}
	text := o.Text
	if text == nil {
		var err error
		if text, err = English(); err != nil {
			return nil, err
		}
	}
	return &book{Text: text, o: o, code: code}, nil
}

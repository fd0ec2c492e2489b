package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"calotte/topo/measure"
	"calotte/topo/unit"
)

// pools is a flag that collects named means of sites.
type pools []poolOf

type poolOf struct {
	name  string
	sites names
}

func (ps *pools) Set(text string) error {
	name, list, ok := strings.Cut(text, "=")
	p := poolOf{name: strings.TrimSpace(name)}
	if !ok || p.name == "" {
		return fmt.Errorf("%q: expected NAME=SITE,SITE such as left=P7,PO7", text)
	}
	if err := p.sites.Set(list); err != nil {
		return err
	}
	if slices.ContainsFunc(*ps, func(o poolOf) bool { return o.name == p.name }) {
		return fmt.Errorf("two pools are named %q", p.name)
	}
	*ps = append(slices.Clone(*ps), p)
	return nil
}

func (p poolOf) String() string   { return p.name + "=" + p.sites.String() }
func (p poolOf) describe() string { return p.name + " (mean of " + p.sites.String() + ")" }
func (ps pools) String() string   { return joined(ps) }

// list are the pools as measures take them.
func (ps pools) list() []measure.Pool {
	var out []measure.Pool
	for _, p := range ps {
		out = append(out, measure.Pool{Name: p.name, Sites: p.sites})
	}
	return out
}

func (ps pools) Type() string { return "pool" }

// windowNames is a flag that collects windows, named or not.
type windowNames []windowOf

type windowOf struct {
	name string
	span unit.Span
}

func (ws *windowNames) Set(text string) error {
	name, span, named := strings.Cut(text, "=")
	if !named {
		name, span = "", text
	}
	w := windowOf{name: strings.TrimSpace(name)}
	if err := w.span.Set(span); err != nil {
		return err
	}
	if !(w.span.To > w.span.From) {
		return fmt.Errorf("%q: expected a range such as 150..190ms", text)
	}
	if w.name == "" {
		w.name = unit.Latency{Span: w.span}.Label()
	}
	*ws = append(slices.Clone(*ws), w)
	return nil
}

func (w windowOf) String() string {
	if w.name == (unit.Latency{Span: w.span}).Label() {
		return w.span.String()
	}
	return w.name + "=" + w.span.String()
}
func (ws windowNames) String() string { return joined(ws) }
func (ws windowNames) Type() string   { return "window" }

// arrangement is a flag that says how panels stand on the page.
type arrangement string

const (
	inRows  arrangement = "rows"
	onScalp arrangement = "scalp"
)

func (r *arrangement) Set(text string) error {
	switch k := arrangement(text); k {
	case inRows, onScalp:
		*r = k
		return nil
	}
	return errors.New("expected rows or scalp")
}

func (r arrangement) String() string { return string(r) }
func (r arrangement) Type() string   { return "arrangement" }

// bandKind is a flag that names what the bands about curves are.
type bandKind string

const (
	noBand   bandKind = "none"
	semBand  bandKind = "sem"
	band95   bandKind = "95%"
	anyBands          = "95%, sem or none"
)

func (b *bandKind) Set(text string) error {
	switch k := bandKind(strings.ToLower(strings.ReplaceAll(text, " ", ""))); k {
	case noBand, semBand, band95:
		*b = k
		return nil
	case "95":
		*b = band95
		return nil
	}
	return errors.New("expected " + anyBands)
}

func (b bandKind) String() string { return string(b) }
func (b bandKind) Type() string   { return "band" }

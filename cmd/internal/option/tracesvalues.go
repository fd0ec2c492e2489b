package option

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"calotte/topo/measure"
	"calotte/topo/unit"
)

// Pools is a flag that collects named means of sites.
type Pools []poolOf

type poolOf struct {
	name  string
	sites Names
}

func (ps *Pools) Set(text string) error {
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
func (p poolOf) Describe() string { return p.name + " (mean of " + p.sites.String() + ")" }
func (ps Pools) String() string   { return Joined(ps) }

// List are the pools as measures take them.
func (ps Pools) List() []measure.Pool {
	var out []measure.Pool
	for _, p := range ps {
		out = append(out, measure.Pool{Name: p.name, Sites: p.sites})
	}
	return out
}

func (ps Pools) Type() string { return "pool" }

// WindowNames is a flag that collects windows, named or not.
type WindowNames []WindowOf

// A WindowOf is a window and the name that it got.
type WindowOf struct {
	Name string
	Span unit.Span
}

func (ws *WindowNames) Set(text string) error {
	name, span, named := strings.Cut(text, "=")
	if !named {
		name, span = "", text
	}
	w := WindowOf{Name: strings.TrimSpace(name)}
	if err := w.Span.Set(span); err != nil {
		return err
	}
	if !(w.Span.To > w.Span.From) {
		return fmt.Errorf("%q: expected a range such as 150..190ms", text)
	}
	if w.Name == "" {
		w.Name = unit.Latency{Span: w.Span}.Label()
	}
	*ws = append(slices.Clone(*ws), w)
	return nil
}

func (w WindowOf) String() string {
	if w.Name == (unit.Latency{Span: w.Span}).Label() {
		return w.Span.String()
	}
	return w.Name + "=" + w.Span.String()
}
func (ws WindowNames) String() string { return Joined(ws) }
func (ws WindowNames) Type() string   { return "window" }

// Arrangement is a flag that says how panels stand on the page.
type Arrangement string

const (
	InRows  Arrangement = "rows"
	OnScalp Arrangement = "scalp"
)

// BandKind is a flag that names what the bands about curves are.
type BandKind string

const (
	NoBand   BandKind = "none"
	SemBand  BandKind = "sem"
	Band95   BandKind = "95%"
	anyBands          = "95%, sem or none"
)

func (b *BandKind) Set(text string) error {
	switch k := BandKind(strings.ToLower(strings.ReplaceAll(text, " ", ""))); k {
	case NoBand, SemBand, Band95:
		*b = k
		return nil
	case "95":
		*b = Band95
		return nil
	}
	return errors.New("expected " + anyBands)
}

func (b BandKind) String() string { return string(b) }
func (b BandKind) Type() string   { return "band" }

package option

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"calotte/cmd/internal/console"
	"calotte/layout"
	"calotte/render/scalp"
	"calotte/topo"
	"calotte/topo/contrast"
	"calotte/topo/erp"
	"calotte/topo/unit"
)

// Conditions is a flag that collects conditions.
type Conditions []erp.Condition

func (cs *Conditions) Set(text string) error {
	var c erp.Condition
	if err := c.Set(text); err != nil {
		return err
	}
	if err := c.CheckBeside(*cs); err != nil {
		return err
	}
	*cs = append(slices.Clone(*cs), c)
	return nil
}

func (cs Conditions) String() string {
	texts := make([]string, len(cs))
	for i, c := range cs {
		texts[i] = c.String()
	}
	return strings.Join(texts, " ")
}

func (cs Conditions) Type() string { return "condition" }

// Baseline is a flag that takes a range or none.
type Baseline struct{ Span *unit.Span }

func (b *Baseline) Set(text string) error {
	if text == "none" {
		b.Span = nil
		return nil
	}
	var s unit.Span
	if err := s.Set(text); err != nil {
		return err
	}
	b.Span = &s
	return nil
}

func (b Baseline) String() string {
	if b.Span == nil {
		return "none"
	}
	return b.Span.String()
}

func (b Baseline) Type() string { return "range" }

// Names is a flag that takes site names joined by commas, each once. A repeated
// flag adds to the list.
type Names []layout.Name

func (ns *Names) Set(text string) error {
	list := slices.Clone(*ns)
	for label := range strings.SplitSeq(text, ",") {
		n, err := layout.Parse(label)
		if err != nil {
			return err
		}
		if k := n.Kind(); k == layout.Ear || k == layout.Mastoid {
			return fmt.Errorf("%s %s is no site on the scalp", k, n)
		}
		if slices.Contains(list, n) {
			return fmt.Errorf("%s is given twice", n)
		}
		list = append(list, n)
	}
	*ns = list
	return nil
}

func (ns Names) String() string {
	texts := make([]string, len(ns))
	for i, n := range ns {
		texts[i] = string(n)
	}
	return strings.Join(texts, ",")
}

func (ns Names) Type() string { return "sites" }

// Quantity is a flag that names what is mapped.
type Quantity string

const (
	Potential      Quantity = "potential"
	CurrentDensity Quantity = "csd"
	TValue         Quantity = "t"
	StandardErrors Quantity = "sem"
	Agreement      Quantity = "agreement"
	Interpolation  Quantity = "interpolation"
	AllErrors      Quantity = "error"
)

// NeedsUnits reports whether the people or epochs behind an average have to be
// known.
func (q Quantity) NeedsUnits() bool {
	return q == TValue || q == StandardErrors || q == Agreement || q == AllErrors
}

func (q *Quantity) Set(text string) error {
	switch v := Quantity(text); v {
	case Potential, CurrentDensity, TValue, StandardErrors, Agreement, Interpolation, AllErrors:
		*q = v
		return nil
	}
	return errors.New("expected potential, csd, t, sem, agreement, interpolation or error")
}

func (q Quantity) String() string { return string(q) }
func (q Quantity) Type() string   { return "field" }

// Interpolated is what the spline is asked for.
func (q Quantity) Interpolated() topo.Quantity {
	if q == CurrentDensity {
		return topo.CurrentDensity
	}
	return topo.Potential
}

// Showing is how a map shows it.
func (q Quantity) Showing() scalp.Showing {
	return map[Quantity]scalp.Showing{TValue: scalp.TValues, StandardErrors: scalp.StandardErrors,
		Agreement: scalp.Agreement, Interpolation: scalp.InterpolationErrors, AllErrors: scalp.AllErrors}[q]
}

// Certainty is which of those of the mean it is.
func (q Quantity) Certainty() contrast.Certainty {
	return map[Quantity]contrast.Certainty{TValue: contrast.TValue, StandardErrors: contrast.StandardError,
		Agreement: contrast.Agreement}[q]
}

// Describe is what the quantity is, for a reader.
func (q Quantity) Describe() string {
	switch q {
	case CurrentDensity:
		return "current density (an estimate from the surface Laplacian)"
	case TValue:
		return "t (the mean potential over its standard error)"
	case StandardErrors:
		return "standard error of the mean potential"
	case Agreement:
		return "agreement (people or epochs with the sign of the mean)"
	case Interpolation:
		return "error of the interpolation"
	case AllErrors:
		return "error of the potential"
	}
	return "potential"
}

// Named is the quantity with its unit, as a cell of a table has it.
func (q Quantity) Named() string { return strings.TrimSuffix(string(q)+", "+q.Unit(), ", ") }

// Unit is empty for t, which has none.
func (q Quantity) Unit() string {
	switch q {
	case CurrentDensity:
		return "µV/cm²"
	case TValue:
		return ""
	case Agreement:
		return "%"
	}
	return "µV"
}

// Limit reads the value at the ends of the scale, in the unit of the quantity.
func (q Quantity) Limit(text string) (float64, error) {
	if text == "" {
		return 0, nil
	}
	var v float64
	var err error
	switch q {
	case CurrentDensity:
		var d unit.Density
		err = d.Set(text)
		v = float64(d)
	case Agreement:
		return 0, console.Usagef("--limit has no meaning for --field agreement, whose scale ends at 100 %%: " +
			"leave it out")
	case TValue:
		if v, err = strconv.ParseFloat(text, 64); err != nil {
			err = fmt.Errorf("%q: expected a bare number such as 5, since t has no unit", text)
		}
	default:
		var u unit.Voltage
		err = u.Set(text)
		v = float64(u)
	}
	switch {
	case err != nil:
		return 0, console.Usagef("--limit %w", err)
	case v <= 0:
		return 0, console.Usagef("--limit %s: expected more than 0", text)
	}
	return v, nil
}

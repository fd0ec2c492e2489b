package main

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/console"
	"calotte/layout"
	"calotte/topo"
	"calotte/topo/contrast"
	"calotte/topo/erp"
	"calotte/topo/unit"
)

// conditions is a flag that collects conditions.
type conditions []erp.Condition

func (cs *conditions) Set(text string) error {
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

func (cs conditions) String() string {
	texts := make([]string, len(cs))
	for i, c := range cs {
		texts[i] = c.String()
	}
	return strings.Join(texts, " ")
}

func (cs conditions) Type() string { return "condition" }

// baseline is a flag that takes a range or none.
type baseline struct{ span *unit.Span }

func (b *baseline) Set(text string) error {
	if text == "none" {
		b.span = nil
		return nil
	}
	var s unit.Span
	if err := s.Set(text); err != nil {
		return err
	}
	b.span = &s
	return nil
}

func (b baseline) String() string {
	if b.span == nil {
		return "none"
	}
	return b.span.String()
}

func (b baseline) Type() string { return "range" }

// names is a flag that takes site names joined by commas, each once. A repeated
// flag adds to the list.
type names []layout.Name

func (ns *names) Set(text string) error {
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

func (ns names) String() string {
	texts := make([]string, len(ns))
	for i, n := range ns {
		texts[i] = string(n)
	}
	return strings.Join(texts, ",")
}

func (ns names) Type() string { return "sites" }

// quantity is a flag that names what is mapped.
type quantity string

const (
	potential      quantity = "potential"
	currentDensity quantity = "csd"
	tValue         quantity = "t"
	standardErrors quantity = "sem"
	agreement      quantity = "agreement"
)

// needsUnits reports whether the people or epochs behind an average have to be known.
func (q quantity) needsUnits() bool { return q == tValue || q == standardErrors || q == agreement }

func (q *quantity) Set(text string) error {
	switch v := quantity(text); v {
	case potential, currentDensity, tValue, standardErrors, agreement:
		*q = v
		return nil
	}
	return errors.New("expected potential, csd, t, sem or agreement")
}

func (q quantity) String() string { return string(q) }
func (q quantity) Type() string   { return "field" }

// interpolated is what the spline is asked for.
func (q quantity) interpolated() topo.Quantity {
	if q == currentDensity {
		return topo.CurrentDensity
	}
	return topo.Potential
}

// certainty is which of those of the mean it is.
func (q quantity) certainty() contrast.Certainty {
	return map[quantity]contrast.Certainty{tValue: contrast.TValue, standardErrors: contrast.StandardError, agreement: contrast.Agreement}[q]
}

func (q quantity) describe() string {
	switch q {
	case currentDensity:
		return "current density (an estimate from the surface Laplacian)"
	case tValue:
		return "t (the mean potential over its standard error)"
	case standardErrors:
		return "standard error of the mean potential"
	case agreement:
		return "agreement (people or epochs with the sign of the mean)"
	}
	return "potential"
}

// named is the quantity with its unit, as a cell of a table has it.
func (q quantity) named() string { return strings.TrimSuffix(string(q)+", "+q.unit(), ", ") }

// unit is empty for t, which has none.
func (q quantity) unit() string {
	switch q {
	case currentDensity:
		return "µV/cm²"
	case tValue:
		return ""
	case agreement:
		return "%"
	}
	return "µV"
}

// limit reads the value at the ends of the scale, in the unit of the quantity.
func (q quantity) limit(text string) (float64, error) {
	if text == "" {
		return 0, nil
	}
	var v float64
	var err error
	switch q {
	case currentDensity:
		var d unit.Density
		err = d.Set(text)
		v = float64(d)
	case agreement:
		return 0, console.Usagef("--limit has no meaning for --field agreement, whose scale ends at 100 %%: leave it out")
	case tValue:
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

// headGiven names a flag by which a head was given, empty where none was.
func headGiven(c *cobra.Command) string {
	for _, name := range append([]string{"head", "scan", "landmarks", "scan-unit"}, tapeFlags...) {
		if c.Flags().Changed(name) {
			return name
		}
	}
	return ""
}

package option

import (
	"errors"
	"strings"

	"calotte/topo/unit"
)

// Voltages is a list of amplitudes above zero, such as 0.5uV,1uV.
type Voltages []unit.Voltage

// Set reads them; those that were there go.
func (v *Voltages) Set(text string) error {
	var list Voltages
	for part := range strings.SplitSeq(text, ",") {
		var one unit.Voltage
		if err := one.Set(part); err != nil {
			return err
		}
		if one <= 0 {
			return errors.New("expected more than 0, such as 1uV")
		}
		list = append(list, one)
	}
	*v = list
	return nil
}

func (v Voltages) String() string {
	var texts []string
	for _, one := range v {
		texts = append(texts, one.String())
	}
	return strings.Join(texts, ",")
}

// Type is the kind of value that a flag's help shows.
func (v Voltages) Type() string { return "amplitudes" }

package option

import (
	"fmt"
	"slices"
	"strings"

	"calotte/layout"
)

// Labels is a flag like Names that also takes the labels of other schemes, as
// they are written. Only with measured places do they mean something, so that
// Check refuses them for the others.
type Labels []layout.Name

func (ls *Labels) Set(text string) error {
	list := slices.Clone(*ls)
	for label := range strings.SplitSeq(text, ",") {
		n, err := layout.Parse(label)
		if err != nil {
			n = layout.Name(strings.TrimSpace(label))
		}
		if n == "" {
			return err
		}
		if slices.Contains(list, n) {
			return fmt.Errorf("%s is given twice", n)
		}
		list = append(list, n)
	}
	*ls = list
	return nil
}

// Check refuses what is no name of a site on the scalp.
func (ls Labels) Check() error {
	if len(ls) == 0 {
		return nil
	}
	var names Names
	return names.Set(ls.String())
}

func (ls Labels) String() string { return Names(ls).String() }

func (ls Labels) Type() string { return "sites" }

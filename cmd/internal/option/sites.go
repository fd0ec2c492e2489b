package option

import (
	"fmt"
	"slices"
	"strings"

	"calotte/layout"
)

// Sites is a flag that takes a system of sites or a list of names.
type Sites struct {
	Text  string
	Names Names
	given bool // by the user, not as the default
}

var systems = map[string]func() []layout.Name{
	"10-20": layout.Set1020,
	"10-10": layout.Set1010,
	"10-5":  layout.Set1005,
}

// Set takes a system, or sites, which a further flag adds to.
func (s *Sites) Set(text string) error {
	if !s.given {
		*s = Sites{given: true} // the default gives way
	}
	set, system := systems[text]
	_, before := systems[s.Text]
	switch {
	case (system || before) && s.Text != "":
		return fmt.Errorf("%q beside %q: expected one system, or sites", text, s.Text)
	case system:
		*s = Sites{text, set(), true}
		return nil
	}
	list := slices.Clone(s.Names)
	if err := list.Set(text); err != nil {
		return err
	}
	if s.Text != "" {
		text = s.Text + "," + text
	}
	*s = Sites{text, list, true}
	return nil
}

func (s Sites) String() string { return s.Text }
func (s Sites) Type() string   { return "sites" }

// Columns is the names as they were written, in the order of names.
func (s Sites) Columns() []string {
	var out []string
	if _, system := systems[s.Text]; system || s.Text == "" {
		for _, n := range s.Names {
			out = append(out, string(n))
		}
		return out
	}
	for label := range strings.SplitSeq(s.Text, ",") {
		out = append(out, strings.TrimSpace(label))
	}
	return out
}

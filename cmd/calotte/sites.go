package main

import (
	"fmt"
	"slices"
	"strings"

	"calotte/layout"
)

// siteSet is a flag that takes a system of sites or a list of names.
type siteSet struct {
	text  string
	names names
	given bool // by the user, not as the default
}

var systems = map[string]func() []layout.Name{
	"10-20": layout.Set1020,
	"10-10": layout.Set1010,
	"10-5":  layout.Set1005,
}

// Set takes a system, or sites, which a further flag adds to.
func (s *siteSet) Set(text string) error {
	if !s.given {
		*s = siteSet{given: true} // the default gives way
	}
	set, system := systems[text]
	_, before := systems[s.text]
	switch {
	case (system || before) && s.text != "":
		return fmt.Errorf("%q beside %q: expected one system, or sites", text, s.text)
	case system:
		*s = siteSet{text, set(), true}
		return nil
	}
	list := slices.Clone(s.names)
	if err := list.Set(text); err != nil {
		return err
	}
	if s.text != "" {
		text = s.text + "," + text
	}
	*s = siteSet{text, list, true}
	return nil
}

func (s siteSet) String() string { return s.text }
func (s siteSet) Type() string   { return "sites" }

// columns is the names as they were written, in the order of names.
func (s siteSet) columns() []string {
	var out []string
	if _, system := systems[s.text]; system || s.text == "" {
		for _, n := range s.names {
			out = append(out, string(n))
		}
		return out
	}
	for label := range strings.SplitSeq(s.text, ",") {
		out = append(out, strings.TrimSpace(label))
	}
	return out
}

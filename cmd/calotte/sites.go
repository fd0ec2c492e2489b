package main

import (
	"strings"

	"calotte/layout"
)

// siteSet is a flag that takes a system of sites or a list of names.
type siteSet struct {
	text  string
	names names
}

var systems = map[string]func() []layout.Name{
	"10-20": layout.Set1020,
	"10-10": layout.Set1010,
	"10-5":  layout.Set1005,
}

func (s *siteSet) Set(text string) error {
	if set, ok := systems[text]; ok {
		*s = siteSet{text, set()}
		return nil
	}
	var list names
	if err := list.Set(text); err != nil {
		return err
	}
	*s = siteSet{text, list}
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

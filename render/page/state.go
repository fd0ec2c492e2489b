package page

import (
	"fmt"
	"slices"
	"strings"

	"calotte/render"
	"calotte/topo/unit"
)

// stateKeys are what the address of a page can say, with the check of each value. The
// page's script reads the same keys (web/address.js).
var stateKeys = map[string]func(s *Study, value string) error{
	"at": func(s *Study, value string) error {
		var at unit.Time
		if err := at.Set(value); err != nil {
			return err
		}
		if first, last := s.Times[0], s.Times[len(s.Times)-1]; float64(at) < first-1e-9 || float64(at) > last+1e-9 {
			return fmt.Errorf("the data reach from %.4g to %.4g s", first, last)
		}
		return nil
	},
	"site": func(s *Study, value string) error { return s.has(value) },
	"pair": func(s *Study, value string) error {
		left, right, _ := strings.Cut(value, ",")
		for _, p := range s.pairs() {
			if s.Sites[p.Left].Name == left && s.Sites[p.Right].Name == right {
				return nil
			}
		}
		return fmt.Errorf("expected a mirror pair of the study, the left site first, such as P7,P8")
	},
	"field":      oneOf("potential", "csd"),
	"view":       oneOf(viewNames()...),
	"scale":      func(*Study, string) error { return nil }, // the page takes the nearest it has
	"positive":   oneOf("up", "down"),
	"theme":      oneOf("dark", "light"),
	"electrodes": oneOf("on", "off"),
	"labels":     oneOf("on", "off"),
	"minus": func(s *Study, value string) error {
		of, minus, _ := strings.Cut(value, ",")
		for _, name := range []string{of, minus} {
			if !slices.ContainsFunc(s.Conditions, func(c Condition) bool { return c.Of == "" && c.Title == name }) {
				return fmt.Errorf("there is no condition %q", name)
			}
		}
		return nil
	},
}

func oneOf(choices ...string) func(*Study, string) error {
	return func(_ *Study, value string) error {
		if slices.Contains(choices, value) {
			return nil
		}
		return fmt.Errorf("expected %s", strings.Join(choices, ", "))
	}
}

func (s *Study) has(name string) error {
	for _, site := range s.Sites {
		if site.Name == name {
			return nil
		}
	}
	return fmt.Errorf("there is no site %q", name)
}

// shownViews are those of the page, in their order.
var shownViews = []render.View{render.Top, render.Left, render.Right, render.Front, render.Back}

func viewNames() []string {
	var names []string
	for _, v := range shownViews {
		names = append(names, v.String())
	}
	return names
}

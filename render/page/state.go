package page

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"

	"calotte/render/scalp"
	"calotte/topo/unit"
)

// stateKeys are what the address of a page can say, with the check of its
// values. The page's script reads the same keys (web/address.js).
var stateKeys = map[string]func(s *Study, values []string) error{
	"at": func(s *Study, values []string) error {
		text := strings.Join(values, ",")
		var at unit.Time
		if err := at.Set(text); err != nil {
			return err
		}
		if !plainTime().MatchString(text) {
			return errors.New("expected a time such as 170ms")
		}
		if first, last := s.Times[0], s.Times[len(s.Times)-1]; float64(at) < first-1e-9 ||
			float64(at) > last+1e-9 {
			return fmt.Errorf("the data reach from %.4g to %.4g s", first, last)
		}
		return nil
	},
	"site": func(s *Study, values []string) error {
		name := strings.Join(values, ",")
		for _, site := range s.Sites {
			if site.Name == name {
				return nil
			}
		}
		return fmt.Errorf("there is no site %q", name)
	},
	"pair": func(s *Study, values []string) error {
		for _, p := range s.pairs() {
			if slices.Equal(values, []string{s.Sites[p.Left].Name, s.Sites[p.Right].Name}) {
				return nil
			}
		}
		return errors.New("expected a mirror pair of the study, the left site first, such as P7,P8")
	},
	"field": oneOf("potential", "csd", "interpolation"),
	"view":  oneOf(viewNames()...),
	"scale": func(_ *Study, values []string) error { // the page takes the nearest that it has
		if v, err := strconv.ParseFloat(strings.Join(values, ","), 64); err != nil || !(v > 0) {
			return errors.New("expected the limit of the scale, a positive number")
		}
		return nil
	},
	"positive":   oneOf("up", "down"),
	"theme":      oneOf("dark", "light"),
	"electrodes": oneOf("on", "off"),
	"labels":     oneOf("on", "off"),
	"doubt":      oneOf("on", "off"),
	"rings":      oneOf("on", "off"),
	"minus": func(s *Study, values []string) error {
		for _, name := range values {
			if !slices.ContainsFunc(s.Conditions,
				func(c Condition) bool { return c.Of == "" && c.Title == name }) {
				return fmt.Errorf("there is no condition %q", name)
			}
		}
		if len(values) != 2 || values[0] == values[1] {
			return errors.New("expected two conditions")
		}
		return nil
	},
}

// plainTime is how the page's script reads a time.
var plainTime = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`^-?[\d.]+(ms|s)$`) })

func oneOf(choices ...string) func(*Study, []string) error {
	return func(_ *Study, values []string) error {
		if len(values) == 1 && slices.Contains(choices, values[0]) {
			return nil
		}
		return fmt.Errorf("expected %s", strings.Join(choices, ", "))
	}
}

// shownViews are those of the page, in their order.
var shownViews = []scalp.View{scalp.Top, scalp.Left, scalp.Right, scalp.Front, scalp.Back}

func viewNames() []string {
	var names []string
	for _, v := range shownViews {
		names = append(names, v.String())
	}
	return names
}

package main

import (
	"fmt"
	"slices"
	"strings"

	"calotte/layout"
	"calotte/topo/erp"
	"calotte/topo/erp/eye"
	"calotte/topo/unit"
)

// eyeChannels is a flag that takes eye channels joined by commas.
type eyeChannels []eye.Channel

func (es *eyeChannels) Set(text string) error {
	list := slices.Clone(*es)
	for part := range strings.SplitSeq(text, ",") {
		var e eye.Channel
		if err := e.Set(part); err != nil {
			return err
		}
		if slices.Contains(list, e) {
			return fmt.Errorf("%v is given twice", e)
		}
		list = append(list, e)
	}
	*es = list
	return nil
}

func (es eyeChannels) String() string { return joined(es) }
func (es eyeChannels) Type() string   { return "channels" }

// spans is a flag that collects windows.
type spans []unit.Span

func (ss *spans) Set(text string) error {
	var s unit.Span
	if err := s.Set(text); err != nil {
		return err
	}
	*ss = append(slices.Clone(*ss), s)
	return nil
}

func (ss spans) String() string { return joined(ss) }
func (ss spans) Type() string   { return "range" }

// joined writes a list with commas.
func joined[T fmt.Stringer](list []T) string {
	texts := make([]string, len(list))
	for i, x := range list {
		texts[i] = x.String()
	}
	return strings.Join(texts, ",")
}

// site is a flag that takes one site.
type site layout.Name

func (s *site) Set(text string) error {
	n, err := layout.Parse(text)
	*s = site(n)
	return err
}

func (s site) String() string { return string(s) }
func (s site) Type() string   { return "site" }

// rejection is a flag that takes a limit, or robust for limits from the data.
type rejection struct {
	limit  unit.Voltage
	robust bool
}

func (r *rejection) Set(text string) error {
	if text == "robust" {
		*r = rejection{robust: true}
		return nil
	}
	var limit unit.Voltage
	if err := limit.Set(text); err != nil {
		return err
	}
	if !(limit > 0) {
		return fmt.Errorf("%v: expected more than 0, such as 150uV, or robust", limit)
	}
	if limit > mostLimit {
		return fmt.Errorf("%v rejects nothing, since no electrode swings so far: expected a limit such as 150uV", limit)
	}
	*r = rejection{limit: limit}
	return nil
}

func (r rejection) String() string {
	if r.robust {
		return "robust"
	}
	return r.limit.String()
}

func (r rejection) Type() string { return "limit" }

// repairs is a flag that takes site names, and words for those that something else
// names. A repeated flag adds to the list.
type repairs struct{ erp.Repair }

func (r *repairs) Set(text string) error {
	next := r.Repair
	list := names(slices.Clone(r.Sites))
	for part := range strings.SplitSeq(text, ",") {
		switch strings.TrimSpace(part) {
		case "bad":
			next.Marked = true
		case "found":
			next.Found = true
		case "excluded":
			next.Excluded = true
		default:
			if err := list.Set(part); err != nil {
				return err
			}
		}
	}
	next.Sites = list
	r.Repair = next
	return nil
}

func (r repairs) String() string {
	texts := []string{}
	for _, s := range r.Sites {
		texts = append(texts, string(s))
	}
	for _, word := range []struct {
		text string
		on   bool
	}{{"bad", r.Marked}, {"found", r.Found}, {"excluded", r.Excluded}} {
		if word.on {
			texts = append(texts, word.text)
		}
	}
	return strings.Join(texts, ",")
}

func (r repairs) Type() string { return "sites" }

// lock is a flag that says what time zero is.
type lock struct{ response bool }

func (l *lock) Set(text string) error {
	if text != "event" && text != "response" {
		return fmt.Errorf("%q: expected event or response", text)
	}
	l.response = text == "response"
	return nil
}

func (l lock) String() string {
	if l.response {
		return "response"
	}
	return "event"
}

func (l lock) Type() string { return "moment" }

package option

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"calotte/layout"
	"calotte/topo/erp"
	"calotte/topo/erp/eye"
	"calotte/topo/unit"
)

// EyeChannels is a flag that takes eye channels joined by commas.
type EyeChannels []eye.Channel

func (es *EyeChannels) Set(text string) error {
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

func (es EyeChannels) String() string { return Joined(es) }
func (es EyeChannels) Type() string   { return "channels" }

// Spans is a flag that collects windows.
type Spans []unit.Span

func (ss *Spans) Set(text string) error {
	var s unit.Span
	if err := s.Set(text); err != nil {
		return err
	}
	*ss = append(slices.Clone(*ss), s)
	return nil
}

func (ss Spans) String() string { return Joined(ss) }
func (ss Spans) Type() string   { return "range" }

// Joined writes a list with commas.
func Joined[T fmt.Stringer](list []T) string {
	texts := make([]string, len(list))
	for i, x := range list {
		texts[i] = x.String()
	}
	return strings.Join(texts, ",")
}

// Site is a flag that takes one site.
type Site layout.Name

func (s *Site) Set(text string) error {
	n, err := layout.Parse(text)
	*s = Site(n)
	return err
}

func (s Site) String() string { return string(s) }
func (s Site) Type() string   { return "site" }

// Rejection is a flag that takes a limit, or robust for limits from the data.
type Rejection struct {
	Limit  unit.Voltage
	Robust bool
}

func (r *Rejection) Set(text string) error {
	if text == "robust" {
		*r = Rejection{Robust: true}
		return nil
	}
	var limit unit.Voltage
	if err := limit.Set(text); err != nil {
		return err
	}
	if !(limit > 0) {
		return fmt.Errorf("%v: expected more than 0, such as 150uV, or robust", limit)
	}
	if limit > MostLimit {
		return fmt.Errorf("%v rejects nothing, since no electrode swings so far: expected a limit such as 150uV",
			limit)
	}
	*r = Rejection{Limit: limit}
	return nil
}

func (r Rejection) String() string {
	if r.Robust {
		return "robust"
	}
	return r.Limit.String()
}

func (r Rejection) Type() string { return "limit" }

// Repairs is a flag that takes site names, and words for those that something
// else names. A repeated flag adds to the list.
type Repairs struct{ erp.Repair }

func (r *Repairs) Set(text string) error {
	next := r.Repair
	list := Names(slices.Clone(r.Sites))
	for part := range strings.SplitSeq(text, ",") {
		switch strings.TrimSpace(part) {
		case "bad":
			next.Marked = true
		case "found":
			next.Found = true
		case "excluded":
			next.Excluded = true
		default:
			if share, ok := strings.CutPrefix(strings.TrimSpace(part), "each"); ok {
				var err error
				if next.Each, err = eachShare(share); err != nil {
					return err
				}
				continue
			}
			if err := list.Set(part); err != nil {
				return err
			}
		}
	}
	next.Sites = list
	r.Repair = next
	return nil
}

func (r Repairs) String() string {
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
	if r.Each > 0 {
		texts = append(texts, fmt.Sprintf("each=%g%%", 100*r.Each))
	}
	return strings.Join(texts, ",")
}

// Shares of the electrodes that may be repaired in an epoch.
const (
	usualEach = 0.1
	mostEach  = 0.5 // beyond, those that are left predict nothing
)

// eachShare is the share after "each", the usual one where none is given.
func eachShare(text string) (float64, error) {
	if text == "" {
		return usualEach, nil
	}
	number, equals := strings.CutPrefix(text, "=")
	number, percent := strings.CutSuffix(number, "%")
	share, err := strconv.ParseFloat(number, 64)
	if !equals || !percent || err != nil || !(share > 0 && share <= 100*mostEach) {
		return 0, fmt.Errorf("%q: expected each, or the share of the electrodes that may be repaired in "+
			"an epoch, up "+
			"to %g%%, such as each=5%%", "each"+text, 100*mostEach)
	}
	return share / 100, nil
}

func (r Repairs) Type() string { return "sites" }

// Lock is a flag that says what time zero is.
type Lock struct{ Response bool }

func (l *Lock) Set(text string) error {
	if text != "event" && text != "response" {
		return fmt.Errorf("%q: expected event or response", text)
	}
	l.Response = text == "response"
	return nil
}

func (l Lock) String() string {
	if l.Response {
		return "response"
	}
	return "event"
}

func (l Lock) Type() string { return "moment" }

// MostLimit is a swing in µV beyond which a limit is a slip of the unit.
const MostLimit = unit.Voltage(20_000)

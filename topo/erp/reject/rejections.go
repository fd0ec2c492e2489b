package reject

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"calotte/topo/erp/average"
	"calotte/topo/erp/internal/list"
)

// A Verdict says what became of one epoch.
type Verdict struct {
	Conditions []string // that the epoch counts for
	Faults     []Fault  // of its sites, as [Judge] finds them
	Other      string   // a reason that is no site's, such as [OutsideData]; empty: none
}

// Kept says whether the epoch is averaged.
func (v Verdict) Kept() bool { return len(v.Faults) == 0 && v.Other == "" }

// Reason is the first of the reasons why the epoch is not averaged, empty where
// it is.
func (v Verdict) Reason() string {
	switch {
	case v.Other != "":
		return v.Other
	case len(v.Faults) > 0:
		return v.Faults[0].Reason
	}
	return ""
}

// Sites are those at fault, each once.
func (v Verdict) Sites() []string {
	var sites []string
	for _, f := range v.Faults {
		sites = list.AppendNew(sites, f.Site)
	}
	return sites
}

// onlyOf says whether the epoch is rejected, and by these sites only.
func (v Verdict) onlyOf(sites ...string) bool {
	other := func(f Fault) bool { return !slices.Contains(sites, f.Site) }
	return len(v.Faults) > 0 && v.Other == "" && !slices.ContainsFunc(v.Faults, other)
}

// Rejections are the verdicts on all epochs, in the order of time, and answer
// what was lost to what.
type Rejections struct {
	Verdicts []Verdict
}

// A Tally is how often a site broke a rule in a condition.
type Tally struct {
	Condition, Site, Reason string
	Epochs                  int // in which the site broke the rule
	Alone                   int // of these, those that nothing but this site rejects
}

// Counts returns what became of the epochs of a condition; one that breaks
// rules for several reasons counts under the first of its faults, so that kept
// and rejected add up to all epochs.
func (r Rejections) Counts(condition string) average.Counts {
	var c average.Counts
	for _, v := range r.Verdicts {
		switch {
		case !slices.Contains(v.Conditions, condition):
		case v.Kept():
			c.Kept++
		default:
			c.Reject(v.Reason())
		}
	}
	return c
}

// Lost is the number of rejected epochs; an epoch of several conditions is one.
func (r Rejections) Lost() int {
	n := 0
	for _, v := range r.Verdicts {
		if !v.Kept() {
			n++
		}
	}
	return n
}

// Tallies counts by condition, site and reason: conditions in the order of
// their first epoch, within each the sites with the most epochs first.
func (r Rejections) Tallies() []Tally {
	type key struct{ condition, site, reason string }
	place := map[key]int{}
	order := map[string]int{}
	var out []Tally
	for _, v := range r.Verdicts {
		for _, c := range v.Conditions {
			if _, known := order[c]; !known {
				order[c] = len(order)
			}
			for _, f := range firsts(v.Faults) {
				k := key{c, f.Site, f.Reason}
				i, known := place[k]
				if !known {
					i = len(out)
					place[k] = i
					out = append(out, Tally{Condition: c, Site: f.Site, Reason: f.Reason})
				}
				out[i].Epochs++
				if v.onlyOf(f.Site) {
					out[i].Alone++
				}
			}
		}
	}
	slices.SortStableFunc(out, func(a, b Tally) int {
		return cmp.Or(cmp.Compare(order[a.Condition], order[b.Condition]), cmp.Compare(b.Epochs, a.Epochs))
	})
	return out
}

// firsts returns the faults without repetitions of site and reason.
func firsts(faults []Fault) []Fault {
	var out []Fault
	for _, f := range faults {
		if !slices.ContainsFunc(out, func(o Fault) bool { return o.Site == f.Site && o.Reason == f.Reason }) {
			out = append(out, f)
		}
	}
	return out
}

// Gain is how many more epochs would be kept if these sites broke no rule:
// those that nothing but these sites rejects.
func (r Rejections) Gain(sites ...string) int {
	n := 0
	for _, v := range r.Verdicts {
		if v.onlyOf(sites...) {
			n++
		}
	}
	return n
}

// Advice is what repairing some sites would bring.
type Advice struct {
	Sites []string // to repair
	Gain  int      // epochs that nothing but these sites rejects
	Lost  int      // epochs that are rejected now
}

// String says it in a sentence without the next thing to do, which depends on
// who asks: "AF7 alone caused 12 of 20 rejections".
func (a Advice) String() string {
	if len(a.Sites) == 1 {
		return fmt.Sprintf("%s alone caused %d of %d rejections", a.Sites[0], a.Gain, a.Lost)
	}
	return fmt.Sprintf("%s together caused %d of %d rejections", strings.Join(a.Sites, ", "), a.Gain, a.Lost)
}

// Worth advising: a site must bring back this many epochs, and this share of
// those lost. More than a few sites are no matter of repair. The choice is
// ours.
const (
	leastGain   = 2
	leastShare  = 5 // one in so many
	mostAdvised = 3
)

// Advise returns the sites whose repair would keep the most epochs, and false
// when none would keep 2 epochs and a fifth of those lost. It begins with the
// best single site and adds the next best, three at most, as long as each
// brings as much again; of equals the one that comes first in the verdicts.
//
// The gain is exact in that it counts the epochs to which nothing else was an
// obstacle. A repair also changes the average reference, by the site's share in
// it, and with it what the other sites measure; only averaging anew shows that.
func (r Rejections) Advise() (Advice, bool) {
	a := Advice{Lost: r.Lost()}
	least := max(leastGain, (a.Lost+leastShare-1)/leastShare)
	candidates := r.faulty()
	for len(a.Sites) < mostAdvised {
		best, gain := "", a.Gain+least-1
		for _, site := range candidates {
			if g := r.Gain(append(slices.Clone(a.Sites), site)...); g > gain {
				best, gain = site, g
			}
		}
		if best == "" {
			break
		}
		a.Sites, a.Gain = append(a.Sites, best), gain
	}
	return a, len(a.Sites) > 0
}

// faulty lists the sites with faults in the order of their first.
func (r Rejections) faulty() []string {
	var sites []string
	for _, v := range r.Verdicts {
		for _, f := range v.Faults {
			if !slices.Contains(sites, f.Site) {
				sites = append(sites, f.Site)
			}
		}
	}
	return sites
}

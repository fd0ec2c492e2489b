package bids

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// A Choice names recordings of a data set by labels, with or without sub- and
// so on. An empty list means all. Runs that are numbers compare as such: 1 is
// 01.
type Choice struct{ Subjects, Sessions, Tasks, Runs []string }

// Choose returns the recordings of which each list names the label, in the
// order of the data set. A label that no recording has, and a choice of none,
// are errors.
func (d *Dataset) Choose(c Choice) ([]File, error) {
	chosen := slices.Clone(d.Recordings)
	for _, by := range []struct {
		key    string
		wanted []string
	}{{"sub", c.Subjects}, {"ses", c.Sessions}, {"task", c.Tasks}, {"run", c.Runs}} {
		if len(by.wanted) == 0 {
			continue
		}
		labels := d.labels(by.key)
		for _, w := range by.wanted {
			if !slices.ContainsFunc(labels, func(l string) bool { return sameLabel(by.key, w, l) }) {
				return nil, fmt.Errorf("no recording has %s-%s: %s", by.key,
					strings.TrimPrefix(w, by.key+"-"),
					thereAre(by.key, labels))
			}
		}
		chosen = slices.DeleteFunc(chosen, func(f File) bool {
			return !slices.ContainsFunc(by.wanted,
				func(w string) bool { return sameLabel(by.key, w, f.Get(by.key)) })
		})
	}
	if len(chosen) == 0 {
		return nil, fmt.Errorf("no recording is left of %d: the data set has none for all that is "+
			"chosen together",
			len(d.Recordings))
	}
	return chosen, nil
}

// labels lists the values of an entity.
func (d *Dataset) labels(key string) []string {
	var labels []string
	seen := map[string]bool{"": true}
	for _, f := range d.Recordings {
		if l := f.Get(key); !seen[l] {
			seen[l] = true
			labels = append(labels, l)
		}
	}
	return labels
}

func sameLabel(key, wanted, label string) bool {
	wanted = strings.TrimPrefix(wanted, key+"-")
	if wanted == label || key != "run" {
		return wanted == label
	}
	x, errX := strconv.Atoi(wanted)
	y, errY := strconv.Atoi(label)
	return errX == nil && errY == nil && x == y
}

func thereAre(key string, labels []string) string {
	if len(labels) == 0 {
		return "no name holds " + key + "-"
	}
	const most = 12
	list := key + "-" + strings.Join(labels[:min(most, len(labels))], ", "+key+"-")
	if more := len(labels) - most; more > 0 {
		list += fmt.Sprintf(" and %d more", more)
	}
	return "there are " + list
}

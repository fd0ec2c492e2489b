package contrast

import (
	"fmt"
	"strings"

	"calotte/topo/erp/average"
)

// A Group is one of the two things compared: people in a condition, or a group
// of people.
type Group struct {
	Title  string
	People []*average.Average
}

// A DifferenceError says that one of several samples is a difference of
// conditions already, where conditions are compared.
type DifferenceError struct {
	Index int // among the samples
	Title string
}

func (e *DifferenceError) Error() string { return e.Title + " " + e.Problem() }

// Problem reads on after a name of the sample.
func (e *DifferenceError) Problem() string {
	return "is a difference already: give the two conditions that it is of"
}

// Groups sorts samples into the two conditions that they are of: averages of
// single people, and the people behind grand averages. Two grand averages of
// one condition are two groups of people.
func Groups(samples []Sample) ([2]Group, error) {
	var out [2]Group
	var list []*Group
	named := map[string]*Group{}
	apart := twoGroups(samples)
	for i, s := range samples {
		info := s.Average.Info
		title, people := s.title(), []*average.Average{s.Average}
		if info.Kind == average.GrandAverage {
			people = s.Units
			if info.Minus != "" {
				return out, &DifferenceError{i, title}
			}
		}
		if apart {
			title += ", " + info.Name
		}
		if named[title] == nil {
			named[title] = &Group{Title: title}
			list = append(list, named[title])
		}
		named[title].People = append(named[title].People, people...)
	}
	if len(list) != 2 {
		var titles []string
		for _, g := range list {
			titles = append(titles, fmt.Sprintf("%s (%d)", g.Title, len(g.People)))
		}
		return out, fmt.Errorf("compare takes two conditions or groups, and there are %d: %s", len(list),
			strings.Join(titles, ", "))
	}
	return [2]Group{*list[0], *list[1]}, nil
}

// twoGroups reports whether samples are two grand averages of one condition.
func twoGroups(samples []Sample) bool {
	if len(samples) != 2 || samples[0].title() != samples[1].title() {
		return false
	}
	return samples[0].Average.Info.Kind == average.GrandAverage &&
		samples[1].Average.Info.Kind == average.GrandAverage
}

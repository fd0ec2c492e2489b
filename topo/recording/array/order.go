package array

import (
	"fmt"
	"slices"
	"strings"

	"calotte/topo/recording"
)

// An Axis is what is counted along an axis.
type Axis string

// The axes of recordings and of cut epochs.
const (
	Sites   Axis = "sites"
	Samples Axis = "samples"
	Epochs  Axis = "epochs"
)

// An Order says what the axes of an array are, first to last.
type Order []Axis

// ParseOrder reads "sites,samples", "epochs,sites,samples" and so on.
func ParseOrder(text string) (Order, error) {
	var o Order
	for _, part := range strings.Split(text, ",") {
		o = append(o, Axis(strings.TrimSpace(part)))
	}
	two, three := Order{Sites, Samples}, Order{Epochs, Sites, Samples}
	for _, want := range []Order{two, three} {
		if len(o) == len(want) && !slices.ContainsFunc(want,
			func(a Axis) bool { return !slices.Contains(o, a) }) {
			return o, nil
		}
	}
	return nil, fmt.Errorf("%q: expected the axes in their order, such as %v or %v", text, two, three)
}

// String is "sites,samples".
func (o Order) String() string {
	texts := make([]string, len(o))
	for i, a := range o {
		texts[i] = string(a)
	}
	return strings.Join(texts, ",")
}

// at is the axis of the array along which something is counted.
func (o Order) at(a Axis) int { return slices.Index(o, a) }

// usual are the orders that an array of so many axes may have where none is
// given.
func (a *Array) usual() []Order {
	switch {
	case a.Kind == recording.Text:
		return []Order{{Samples, Sites}}
	case len(a.Shape) == 2:
		return []Order{{Sites, Samples}, {Samples, Sites}}
	case len(a.Shape) == 3 && a.Kind == recording.Level5:
		return []Order{{Sites, Samples, Epochs}}
	case len(a.Shape) == 3:
		return []Order{{Epochs, Sites, Samples}}
	}
	return nil
}

// order settles which axis is which: as asked, or the only usual order in which
// there are as many sites as names.
func (a *Array) order(asked Order, names int) (Order, error) {
	candidates := a.usual()
	if asked != nil {
		candidates = []Order{asked}
		if len(asked) != len(a.Shape) {
			return nil, fmt.Errorf("the array has %d axes (%v) and the order %d: expected one for each",
				len(a.Shape), a, len(asked))
		}
	}
	if candidates == nil {
		return nil, fmt.Errorf("an array of %d axes (%v): expected 2, sites and samples, or 3 of cut epochs",
			len(a.Shape), a)
	}
	fitting := slices.DeleteFunc(slices.Clone(candidates),
		func(o Order) bool { return a.Shape[o.at(Sites)] != names })
	switch {
	case len(fitting) == 1:
		return fitting[0], nil
	case len(fitting) > 1:
		return nil, sayf(ErrOrder,
			"both axes of the array (%v) are as long as there are names of sites: say the "+
				"order of the axes, such as %v", a, fitting[0])
	case len(candidates) > 1:
		return nil, sayf(ErrSites,
			"no axis of the array (%v) is as long as there are names of sites, which is %d: "+
				"name each site", a, names)
	}
	return nil, sayf(ErrOrder,
		"the array (%v) taken as %v has %d sites and there are %d names: name each site, or "+
			"say another order of the axes", a, candidates[0], a.Shape[candidates[0].at(Sites)], names)
}

package contrast

import (
	"calotte/topo/erp/average"
	"calotte/topo/erp/epoch"
)

// A Sample is an average with what it is the mean of, as far as that is at
// hand.
type Sample struct {
	Title   string // in words; empty: that of the average's condition
	Average *average.Average
	// Units are the people behind a grand average, each with the sites and
	// samples of the average, or the epochs of one person, each as an
	// average of one; nil: not at hand.
	Units []*average.Average
}

func (s Sample) title() string {
	if s.Title == "" {
		return s.Average.Info.Title()
	}
	return s.Title
}

// What units are.
const (
	overPeople = "people"
	overEpochs = "epochs"
)

// Over says what the units are: "people" or "epochs".
func (s Sample) Over() string {
	if s.Average.Info.Kind == average.GrandAverage {
		return overPeople
	}
	return overEpochs
}

// Epochs are the units of one person: each epoch that was kept, as an average
// of one.
func Epochs(e *epoch.Collection) []*average.Average {
	times := e.Window.Times()
	var units []*average.Average
	for k := range e.Len() {
		samples, _ := e.At(k)
		units = append(units, &average.Average{Sites: e.Sites, Times: times, Mean: samples})
	}
	return units
}

package erp

import (
	"math"
	"slices"

	"calotte/layout"
	"calotte/topo/erp/epoch"
	"calotte/topo/erp/reject"
	"calotte/topo/recording"
)

// A Trial is an event that conditions ask for, and what became of its epoch.
type Trial struct {
	Source   string            // name of the recording
	Onset    float64           // of the event as it is marked, s from the start of the recording's header
	Response float64           // time from the stimulus to its response, s; NaN where there is none
	Event    recording.Columns // what is known of the event beside its onset
	Mended   []layout.Name     // sites that were repaired in this epoch alone, since they depart in it
	reject.Verdict
}

// aboutEvent is what a recording says of an event beside its onset: the columns
// of its table, or the label of an annotation.
func aboutEvent(e recording.Event) recording.Columns {
	names, values := []string{}, []string{}
	for name, value := range e.Columns.All() {
		if name != "onset" {
			names, values = append(names, name), append(values, value)
		}
	}
	if len(names) == 0 {
		names, values = []string{"label"}, []string{e.Text}
	}
	return recording.NewColumns(names, values)
}

// Rows are the trials of a condition, in their order, as the index of its
// epochs lists them.
func (r *Result) Rows(condition string) []epoch.Row {
	var rows []epoch.Row
	for _, t := range r.Trials {
		if slices.Contains(t.Conditions, condition) {
			rows = append(rows, epoch.Row{
				Source: t.Source, Onset: t.Onset, Condition: condition, Response: t.Response,
				Kept: t.Kept(), Reason: t.Reason(), Sites: t.Sites(), Event: t.Event,
			})
		}
	}
	return rows
}

// Rejections are the verdicts on all trials.
func (r *Result) Rejections() reject.Rejections {
	verdicts := make([]reject.Verdict, len(r.Trials))
	for i, t := range r.Trials {
		verdicts[i] = t.Verdict
	}
	return reject.Rejections{Verdicts: verdicts}
}

// noResponse is the response time of a trial without one.
var noResponse = math.NaN()

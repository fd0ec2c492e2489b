// Package erp is the way from the recordings of a person to averages: a [Pipeline]
// whose stages lie in the rooms below it.
//
// Amplitudes are in µV and times in s, zero at the event. A recording is
// filtered first, each gap-free stretch by itself. The stages of an epoch are then:
//
//   - its events are chosen and timed ([Condition], [Responses]);
//   - it is cut as the [Pipeline] says, as long as an epoch.Window;
//   - its signals become sites by a montage.Montage;
//   - blinks are taken out by eye.Coefficients;
//   - bad sites, which a screen.Screen may find, are replaced ([Repair]);
//   - it is set against another montage.Reference, and the baseline is subtracted;
//   - it is held against the rules of reject ([Reject]);
//   - it is accumulated (epoch.Halves) and becomes part of an average.Average.
//
// Where something has to be learned from the data first, recordings are passed
// through twice or three times; see [Pipeline.Run]. Epochs that were cut before go
// through the same stages from where they are ([EpochSet]). A [Checkup] looks at a
// recording before its wearer leaves.
package erp

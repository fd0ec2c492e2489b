// Package erp is the way from the recordings of a person to averages: a
// [Pipeline] whose stages lie in the rooms below it.
//
// Amplitudes are in µV and times in s, zero at the event. A recording is
// filtered first, each gap-free stretch by itself. The stages of an epoch are
// then:
//
//   - its events are chosen and timed ([Condition], [Responses]);
//   - it is cut as the [Pipeline] says, as long as an epoch.Window;
//   - its signals become sites by a montage.Montage;
//   - independent components are taken out (Removal), the same of every sample, so
//     that it makes no difference that epochs are cut before;
//   - blinks are taken out by eye.Coefficients;
//   - bad sites, which a screen.Screen may find, are replaced ([Repair]), and in
//     single epochs those that depart from what the others predict;
//   - it is set against another montage.Reference, and the baseline is subtracted;
//   - it is held against the rules of reject ([Reject]);
//   - it is accumulated (epoch.Halves) and becomes part of an average.Average.
//
// Where something has to be learned from the data first, recordings are passed
// through twice or three times; see [Pipeline.Run]. Epochs that were cut before
// go through the same stages from where they are ([EpochSet]). A [Checkup]
// looks at a recording before its wearer leaves.
//
// # Decisions
//
// One recording is the unit of accumulation: a person's recordings are summed
// apart, and the sums are merged in the order in which they are given.
//
// Averages of saved epochs are the direct ones, to the last bit. Where epochs
// are saved, each value is rounded to float32 before it is added, and epochs
// that are read again are added recording by recording as before. Where they
// are not, nothing is rounded: the two averages of one recording differ by a
// rounding of float32.
//
// What is linear is done to averages as it would be to epochs: another
// reference, another cap. Standard errors follow exactly where the epochs are
// saved beside the average, and are left out where they are not; right minus
// left keeps its own under any reference.
//
// Rejection looks at the mapped sites, after repair, reference and baseline;
// repaired sites are not asked. A baseline that is not given begins where the
// epoch does.
//
// An electrode is mended in an epoch where it departs (topo.Spline.Departures)
// in the map of what changes between its own lowest and highest sample, and the
// others leave half of its swing unexplained. All that leave so much are
// suspected, and each is judged by those that are not, since two that are bad
// at once would hide each other. Planted pops of 250 µV among 32 sites, one or
// two an epoch, are found in 170 of 180; of 480 sound epochs none is mended.
//
// A decision excludes an event by its recording's name and its onset as marked,
// to half a sample. One that fits no event of a recording that is averaged is
// an error; those about other recordings are left alone, since one file may
// hold a whole study's.
//
// An average keeps its condition's labels, and which other conditions share
// epochs with it; a difference of two such conditions is refused, since its
// error would be wrong. Data that call themselves synthetic stay so: a
// recording whose EDF+ recording field holds the word marks its averages, and
// every figure of them says it.
package erp

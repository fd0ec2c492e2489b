// Package bids reads what the Brain Imaging Data Structure (BIDS) says beside a
// recording, and finds it in a folder.
//
// The rules are those of BIDS 1.8 for EEG (Pernet et al. 2019, "EEG-BIDS, an
// extension to the brain imaging data structure for electroencephalography",
// Scientific Data 6:103), written down here from memory of the specification.
//
// # Files
//
// [ReadEvents] reads *_events.tsv, or a table of events made elsewhere,
// [ReadChannels] *_channels.tsv, and [ReadEEG] *_eeg.json, all as values. Positions
// of electrodes, *_electrodes.tsv and *_coordsystem.json, are read by package
// layout; their paths are found here.
//
// # Folders
//
// [Open] lists the recordings of a data set: sub-LABEL[/ses-LABEL]/eeg/*_eeg.edf and
// .bdf, and .npy and .mat where neither lies beside them. It reads through an
// [fs.FS], and so knows no place outside it.
//
// A sidecar applies to a recording by the inheritance principle: it lies in the
// recording's folder or one above it, its name has the right ending, and each
// entity of its name (sub-01, task-flags) is one of the recording's. Of tables
// the most specific one counts: the nearest folder first, then the one with
// most entities. JSON files are laid over each other from the least specific to
// the most specific, key by key. Two files of one rank are an error; for
// positions, which may come in several spaces, a note.
//
// # Where sidecar and recording disagree
//
// [Description.Apply] brings both together. What scales or times the samples comes
// from the recording's header, since that is what its bytes are read by; what a
// person says of the data comes from the sidecar. Every disagreement is a note.
//
//	sampling rate               header
//	unit                        header, unless it names no voltage and the sidecar does
//	number of signals           header; rows without a signal are passed over
//	names                       sidecar, where there are as many rows as signals and
//	                            the two that differ stand at the same place
//	types, bad channels         sidecar
//	reference, mains, filters   sidecar
//	events                      sidecar, if there is a table; else the annotations
//	times of events             onset; the column sample is only compared
//	recorded time, gaps         header
//
// Onsets of a table count from the first sample; Apply counts them from the
// header's start, as all of package recording does.
package bids

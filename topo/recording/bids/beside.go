package bids

import (
	"path/filepath"
	"strings"
)

// EventsBeside is the table of events that lies beside a recording outside of a
// data set, by its name: NAME_events.tsv beside NAME.npy or NAME_eeg.npy. It
// need not be there.
func EventsBeside(recording string) string { return Stem(recording) + "_events.tsv" }

// Stem is the name of a recording without its ending and the suffix _eeg.
func Stem(recording string) string {
	return strings.TrimSuffix(strings.TrimSuffix(recording, filepath.Ext(recording)), "_eeg")
}

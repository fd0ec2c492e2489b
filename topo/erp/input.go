package erp

import "calotte/topo/recording"

// An Input is a recording with what people said of it.
type Input struct {
	*recording.Recording
	Name   string // of its file, without folders: what the ledger and errors call it
	Bad    []int  // signals that are marked bad
	Others []int  // signals that are no EEG, whatever their names say
}

// NoEEG are the signals that are no EEG, and the reason, as [montage.Options]
// take it.
func (in Input) NoEEG() map[int]string {
	aside := map[int]string{}
	for _, i := range in.Others {
		aside[i] = "no EEG, by the table of channels"
	}
	return aside
}

package erp

import "calotte/topo/recording"

// An Input is a recording with what people said of it.
type Input struct {
	*recording.Recording
	Name   string // of its file, without folders: what the ledger and errors call it
	Bad    []int  // signals that are marked bad
	Others []int  // signals that are no EEG, whatever their names say
}

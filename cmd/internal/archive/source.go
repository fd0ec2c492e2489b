package archive

import (
	"path/filepath"

	"calotte/topo/provenance"
)

// Source is a file and its hash.
func Source(path string, data []byte) provenance.Source {
	return provenance.SourceOf(filepath.Base(path), data)
}

package averages

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"path/filepath"
	"strings"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/topo/provenance"
)

// A SavedTable is a table that is written with a JSON beside it, which says
// what it is, what it was made of, and its hash.
type SavedTable struct {
	Path    string
	Columns []string
	Rows    [][]string
}

// JSON is the path of the JSON beside the table.
func (t SavedTable) JSON() string {
	return strings.TrimSuffix(t.Path, filepath.Ext(t.Path)) + ".json"
}

// Plan says that the table and its JSON will be written, if it has a path.
func (t SavedTable) Plan(out *disk.Files) error {
	if t.Path == "" {
		return nil
	}
	return out.Plan(t.Path, t.JSON())
}

// Deliver writes the table with its JSON, or prints it where it has no path.
func (t SavedTable) Deliver(ctx context.Context, stdout io.Writer, out *disk.Files, record TableRecord) error {
	if t.Path == "" {
		return console.Table(stdout, t.Columns, t.Rows)
	}
	if err := t.Put(out, record); err != nil {
		return err
	}
	return out.Write(ctx)
}

// TableRecord is what the JSON of a table says.
type TableRecord struct {
	What       string              `json:"what"`
	Words      []string            `json:"words,omitempty"` // what was found, in sentences
	Remarks    []string            `json:"remarks,omitempty"`
	Synthetic  bool                `json:"synthetic,omitempty"`
	Files      []provenance.Source `json:"files"`
	Provenance provenance.Record   `json:"provenance"`
}

// Put adds the table and its JSON to the files to be written.
func (t SavedTable) Put(out *disk.Files, record TableRecord) error {
	var text bytes.Buffer
	if err := console.Table(&text, t.Columns, t.Rows); err != nil {
		return err
	}
	record.Files = []provenance.Source{archive.Source(t.Path, text.Bytes())}
	described, err := json.MarshalIndent(record, "", "  ")
	if err != nil {
		return err
	}
	out.Put(t.Path, text.Bytes())
	out.Put(t.JSON(), append(described, '\n'))
	return nil
}

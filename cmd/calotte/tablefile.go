package main

import (
	"bytes"
	"encoding/json"
	"path/filepath"
	"strings"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/topo/provenance"
)

// A savedTable is a table that is written with a JSON beside it, which says what it is,
// what it was made of, and its hash.
type savedTable struct {
	path    string
	columns []string
	rows    [][]string
}

func (t savedTable) json() string {
	return strings.TrimSuffix(t.path, filepath.Ext(t.path)) + ".json"
}

// tableRecord is what the JSON of a table says.
type tableRecord struct {
	What       string              `json:"what"`
	Remarks    []string            `json:"remarks,omitempty"`
	Synthetic  bool                `json:"synthetic,omitempty"`
	Files      []provenance.Source `json:"files"`
	Provenance provenance.Record   `json:"provenance"`
}

// put adds the table and its JSON to the files to be written.
func (t savedTable) put(out *disk.Files, record tableRecord) error {
	var text bytes.Buffer
	if err := console.Table(&text, t.columns, t.rows); err != nil {
		return err
	}
	record.Files = []provenance.Source{source(t.path, text.Bytes())}
	described, err := json.MarshalIndent(record, "", "  ")
	if err != nil {
		return err
	}
	out.Put(t.path, text.Bytes())
	out.Put(t.json(), append(described, '\n'))
	return nil
}

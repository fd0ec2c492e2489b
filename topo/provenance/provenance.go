package provenance

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
)

// A Source is one input of a piece of work: its base name, never a path, and
// the SHA-256 of its bytes in hexadecimal.
type Source struct {
	Name   string `json:"name"`
	SHA256 string `json:"sha256"`
}

// SourceOf is a file of this name and content.
func SourceOf(name string, content []byte) Source {
	sum := sha256.Sum256(content)
	return Source{Name: name, SHA256: hex.EncodeToString(sum[:])}
}

// Record says what made a table or a figure: the program and its version,
// the verb, the settings in the flags' own spelling, and the inputs. Every
// output carries it.
type Record struct {
	Program  string            `json:"program"`
	Version  string            `json:"version"`
	MadeOn   string            `json:"made_on,omitempty"` // what the last digits of numbers depend on
	Work     string            `json:"work"`
	Settings map[string]string `json:"settings,omitempty"`
	// Arguments are the command line that does the work again, with base
	// names in place of paths and without the output.
	Arguments []string `json:"arguments,omitempty"`
	Inputs    []Source `json:"inputs"`
}

// Read reads what an output carries, as JSON. A record that names no program is
// damaged.
func Read(record []byte) (Record, error) {
	var p Record
	err := json.Unmarshal(record, &p)
	if err == nil && p.Program == "" {
		err = errors.New("it names no program")
	}
	if err != nil {
		return Record{}, fmt.Errorf("the provenance is damaged: %w", err)
	}
	return p, nil
}

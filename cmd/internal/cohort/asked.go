package cohort

import (
	"path/filepath"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/disk"
	"calotte/topo/provenance"
)

// Source is the recipe's file.
func (p *Plan) Source() (provenance.Source, error) {
	text, err := disk.ReadFile(p.Path)
	return archive.Source(p.Path, text), err
}

// Conditions are the names of those that the recipe averages.
func (p *Plan) Conditions() []string { return p.conditions() }

// Windows is the file of declared windows; empty: there is none.
func (p *Plan) Windows() string {
	if p.windows == "" {
		return ""
	}
	return p.SeenFrom(p.windows)
}

// Averaging is the command line that averages a person into a folder, and keeps
// the epochs there.
func (p *Plan) Averaging(x Participant, dir string) []string {
	args := p.OfPerson(x)[0].Args
	return append(args[:len(args)-1:len(args)-1], "--output="+dir, "--save-epochs")
}

// Comparison are the flags of the first item of compare; not ok: there is none.
func (p *Plan) Comparison() (flags []string, ok bool) {
	for _, it := range p.items {
		if it.verb == "compare" {
			flags, _ = p.args(it.section)
			return flags, true
		}
	}
	return nil, false
}

// AveragesIn are the tables of a person's averages in a folder, one a
// condition.
func AveragesIn(dir, name string, conditions []string) []string {
	var paths []string
	for _, c := range conditions {
		paths = append(paths, filepath.Join(dir, name+"_"+c+"_average.tsv"))
	}
	return paths
}

package montage

import (
	"fmt"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"
)

// A Derivation says what a signal is: the potential of a site minus that of its
// reference. Both are texts as a layout.Label has them, the site in its
// canonical spelling; a reference is a site, a mean of two such as "A1+A2", or
// a text that names no electrode ("Ref", "LE", "AVG", or empty for the
// recording's own), which stands for one potential that all who give it share.
type Derivation struct{ Site, Reference string }

// A Rederivation gives every site against one common reference.
type Rederivation struct {
	Sites     []string   // in the order of their first appearance, the reference included where it is a site
	Reference string     // common to all; what it names has a row of zeros
	Mixing    *mat.Dense // site × signal: potentials are Mixing times the signals
}

// An UnconnectedError says that sites cannot be set against one reference,
// since no chain of derivations leads from one group to another.
type UnconnectedError struct {
	Groups [][]string // sites and references; each group holds a scalp site
}

func (e *UnconnectedError) Error() string {
	texts := make([]string, len(e.Groups))
	for i, g := range e.Groups {
		texts[i] = inWords(g)
	}
	return fmt.Sprintf("no derivation connects %s: record one between them, or leave all but one out",
		strings.Join(texts, " | "))
}

// inWords lists nodes for an error.
func inWords(nodes []string) string {
	texts := slices.Clone(nodes)
	for i, n := range texts {
		if n == "" {
			texts[i] = "(the recording's reference)"
		}
	}
	return strings.Join(texts, " ")
}

// Rederive finds the combination of signals that gives every site against one
// reference, by way of the graph whose nodes are sites and references and whose
// edges are the signals: P7-A1 and P8-A2 cannot be compared, with A1-A2
// recorded they can, since P8-A1 is (P8-A2) − (A1-A2).
//
// The common reference is the one asked for; where that is empty, the one that
// most signals state, of equals the first. Every site takes the chain with the
// fewest signals, since each adds its noise, and of equals that of earlier
// signals; weights are 1 and −1. Signals that close a loop are not needed and
// have weight zero. Parts of the graph that only a mean of two electrodes joins
// are set against each other by that.
//
// Groups without any scalp site are left out. Scalp sites in different groups
// are an
// [*UnconnectedError]; a signal of a site against itself and a reference that no
// signal states are errors.
func Rederive(signals []Derivation, reference string) (*Rederivation, error) {
	g, err := newDerivationGraph(signals)
	if err != nil {
		return nil, err
	}
	if reference == "" {
		reference = g.usualReference()
	} else if !slices.Contains(g.nodes, reference) {
		return nil, fmt.Errorf("no signal is derived from %q: the recording has %s", reference,
			inWords(g.nodes))
	}
	g.grow(reference)
	offsets := g.offsets(g.component(reference))
	if missing := func(n string) bool {
		return isScalp(n) &&
			offsets[g.component(n)] == nil
	}; slices.ContainsFunc(g.nodes, missing) {
		return nil, &UnconnectedError{g.groups()}
	}
	out := &Rederivation{Reference: reference}
	var rows [][]float64
	for _, node := range g.nodes {
		if c := g.component(node); offsets[c] != nil && isElectrode(node) {
			out.Sites = append(out.Sites, node)
			rows = append(rows, combine(offsets[c], 1, g.trees[c][node], 1))
		}
	}
	out.Mixing = mat.NewDense(len(rows), len(signals), nil)
	for i, row := range rows {
		out.Mixing.SetRow(i, row)
	}
	return out, nil
}

package montage

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"calotte/layout"
)

// A derivationGraph has the nodes in the order of their first appearance, and a
// tree for each of its connected parts: the weights of the signals that make
// each node's potential against the root's.
type derivationGraph struct {
	signals []Derivation
	nodes   []string
	trees   []map[string][]float64
}

func newDerivationGraph(signals []Derivation) (*derivationGraph, error) {
	if len(signals) == 0 {
		return nil, errors.New("no signals to derive sites from")
	}
	g := &derivationGraph{signals: signals}
	for i, s := range signals {
		if s.Site == s.Reference {
			return nil, fmt.Errorf("signal %d is %s against itself: leave it out", i+1, s.Site)
		}
		if !isElectrode(s.Site) {
			return nil, fmt.Errorf("signal %d is derived from %q, which is no electrode: leave it out", i+1,
				s.Site)
		}
		g.add(s.Site)
		g.add(s.Reference)
	}
	return g, nil
}

func (g *derivationGraph) add(node string) {
	if !slices.Contains(g.nodes, node) {
		g.nodes = append(g.nodes, node)
	}
}

func isElectrode(node string) bool {
	_, err := layout.Parse(node)
	return err == nil
}

func isScalp(node string) bool {
	n, err := layout.Parse(node)
	return err == nil && n.Kind() == layout.Scalp
}

func (g *derivationGraph) usualReference() string {
	counts := map[string]int{}
	for _, s := range g.signals {
		if isScalp(s.Site) || isScalp(s.Reference) {
			counts[s.Reference]++
		}
	}
	best := g.signals[0].Reference
	for _, s := range g.signals {
		if counts[s.Reference] > counts[best] {
			best = s.Reference
		}
	}
	return best
}

// grow makes the trees; the first one's root is the given node.
func (g *derivationGraph) grow(root string) {
	for _, node := range append([]string{root}, g.nodes...) {
		if g.component(node) < 0 {
			g.trees = append(g.trees, g.tree(node))
		}
	}
}

// component is the index of a node's tree, -1 where it has none yet.
func (g *derivationGraph) component(node string) int {
	return slices.IndexFunc(g.trees, func(t map[string][]float64) bool { return t[node] != nil })
}

// tree follows the signals from a root, breadth first, so that chains are
// short.
func (g *derivationGraph) tree(root string) map[string][]float64 {
	rows := map[string][]float64{root: make([]float64, len(g.signals))}
	for front := []string{root}; len(front) > 0; front = front[1:] {
		node := front[0]
		for k, s := range g.signals {
			next, sign := s.Site, 1.0
			if s.Site == node {
				next, sign = s.Reference, -1
			} else if s.Reference != node {
				continue
			}
			if rows[next] == nil {
				rows[next] = slices.Clone(rows[node])
				rows[next][k] += sign
				front = append(front, next)
			}
		}
	}
	return rows
}

// offsets returns, for each tree, the weights of the signals that make its
// root's potential against that of the tree from, nil where it is not known.
// Only means of two electrodes tell: with O the root's potential and r the
// node's weights, the mean M of A and B gives
//
//	O(M) − O(A)/2 − O(B)/2 = r(A)/2 + r(B)/2 − r(M)
//
// These few equations are reduced until each pivot stands alone.
func (g *derivationGraph) offsets(from int) [][]float64 {
	offsets := make([][]float64, len(g.trees))
	offsets[from] = make([]float64, len(g.signals))
	left, right := g.meanEquations(from)
	used := 0
	for c := range g.trees {
		pivot := slices.IndexFunc(left[used:], func(l []float64) bool { return l[c] != 0 })
		if pivot < 0 {
			continue
		}
		pivot += used
		left[used], left[pivot], right[used], right[pivot] = left[pivot], left[used], right[pivot], right[used]
		scale := 1 / left[used][c]
		left[used], right[used] = combine(left[used], scale, left[used], 0), combine(right[used], scale,
			right[used],
			0)
		for i := range left {
			if f := left[i][c]; i != used && f != 0 {
				left[i], right[i] = combine(left[i], 1, left[used], -f), combine(right[i], 1,
					right[used],
					-f)
			}
		}
		used++
	}
	for i := range used {
		if c, alone := onlyOne(left[i]); alone {
			offsets[c] = right[i]
		}
	}
	return offsets
}

// meanEquations has a row for each mean whose parts are in the graph: on the
// left a factor for each tree, on the right one for each signal.
func (g *derivationGraph) meanEquations(from int) (left, right [][]float64) {
	for _, node := range g.nodes {
		one, other, ok := strings.Cut(node, "+")
		m, a, b := g.component(node), g.component(one), g.component(other)
		if !ok || a < 0 || b < 0 {
			continue
		}
		l := make([]float64, len(g.trees))
		l[m]++
		l[a] -= 0.5
		l[b] -= 0.5
		l[from] = 0
		left = append(left, l)
		right = append(right, combine(combine(g.trees[a][one], 0.5, g.trees[b][other], 0.5), 1,
			g.trees[m][node],
			-1))
	}
	return left, right
}

// onlyOne returns the index of the only factor that is not zero.
func onlyOne(factors []float64) (index int, alone bool) {
	n := 0
	for i, f := range factors {
		if f != 0 {
			index = i
			n++
		}
	}
	return index, n == 1
}

func combine(a []float64, x float64, b []float64, y float64) []float64 {
	out := make([]float64, len(a))
	for k := range out {
		out[k] = x*a[k] + y*b[k]
	}
	return out
}

// groups returns the nodes that can be compared with each other, of those
// groups that hold a scalp site.
func (g *derivationGraph) groups() [][]string {
	var out [][]string
	seen := make([]bool, len(g.trees))
	for c := range g.trees {
		if seen[c] {
			continue
		}
		offsets := g.offsets(c)
		var group []string
		for _, n := range g.nodes {
			if d := g.component(n); offsets[d] != nil {
				seen[d] = true
				group = append(group, n)
			}
		}
		if slices.ContainsFunc(group, isScalp) {
			out = append(out, group)
		}
	}
	return out
}

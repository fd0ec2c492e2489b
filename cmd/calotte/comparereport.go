package main

import (
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strconv"
	"strings"

	"calotte/cmd/internal/console"
	"calotte/topo/inference"
	"calotte/topo/unit"
)

// A described cluster is what people want to know of it.
type described struct {
	inference.Cluster
	spans    []siteSpan
	from, to float64 // s
	peak     float64 // the largest |t|, with its sign
	site     string
	at       float64
}

type siteSpan struct {
	name     string
	from, to float64
}

func (p *prepared) describe(c inference.Cluster, t []float64) described {
	d := described{Cluster: c, from: math.Inf(1), to: math.Inf(-1)}
	n := len(p.times)
	for _, point := range c.Points {
		site, at := p.sites[point/n], p.times[point%n]
		if k := len(d.spans) - 1; k < 0 || d.spans[k].name != site {
			d.spans = append(d.spans, siteSpan{site, at, at})
		} else {
			d.spans[k].to = at
		}
		d.from, d.to = min(d.from, at), max(d.to, at)
		if math.Abs(t[point]) > math.Abs(d.peak) {
			d.peak, d.site, d.at = t[point], site, at
		}
	}
	return d
}

func (d described) sign() string {
	if d.Mass < 0 {
		return "negative"
	}
	return "positive"
}

func (d described) cells(k int) []string {
	var names []string
	for _, s := range d.spans {
		names = append(names, s.name)
	}
	return []string{
		strconv.Itoa(k + 1), d.sign(), decimals(d.Mass, 3), decimals(d.P, 6), decimals(d.from, 6), decimals(d.to, 6), strings.Join(names, ","),
		decimals(d.peak, 3), d.site, decimals(d.at, 6),
	}
}

// extentCaution is what a cluster's p does not say.
const extentCaution = "A cluster's p says that the two differ somewhere, not where or from when to when: its extent is not tested (Sassenhagen & Draschkow 2019)."

func (f *compareFlags) report(w io.Writer, sides [2]side, p *prepared, test *inference.Clusters, o inference.Options, marked bool) {
	console.Say(w, "%s: %s\n", p.title, p.matching)
	const most = 5
	for k, c := range test.Clusters[:min(most, len(test.Clusters))] {
		d := p.describe(c, test.T)
		console.Say(w, "  cluster %d   %s   %s to %s   %s   largest t %s at %s, %s   p* %.2g\n", k+1, d.sign(),
			millis(d.from), millis(d.to), console.Plural(len(d.spans), "site", "sites"), signed(d.peak), d.site, millis(d.at), c.P)
	}
	if more := len(test.Clusters) - most; more > 0 {
		console.Say(w, "  and %d smaller\n", more)
	}
	switch {
	case len(test.Clusters) == 0 && f.correct != byClusters:
		console.Say(w, "In words: this test does not show that %s and %s differ.\n", sides[0].title, sides[1].title)
	case len(test.Clusters) == 0:
		fmt.Fprintln(w, "In words: no point reaches the level, so there is no cluster.")
	case test.Clusters[0].P <= .05:
		console.Say(w, "In words: %s and %s differ.\n", sides[0].title, sides[1].title)
	default:
		console.Say(w, "In words: this test does not show that %s and %s differ.\n", sides[0].title, sides[1].title)
	}
	kind := fmt.Sprintf("%d arrangements drawn, seed %d", f.arrangements, o.Seed)
	if p.design.Exact(o) {
		kind = "all arrangements"
	}
	rule := map[correction]string{
		byClusters: fmt.Sprintf("by the largest cluster of |t| above %.3f", test.Threshold),
		byLargest:  "of single points, by the largest |t|; a cluster here is points of 0.05 or less",
		byRate:     "of single points, by the false discovery rate (Benjamini & Hochberg 1995); a cluster here is points of 0.05 or less",
	}[f.correct]
	console.Say(w, "p*: %s, over %s and %s to %s; %s; the smallest p they allow is %.2g.\n",
		rule, console.Plural(len(p.sites), "site", "sites"), millis(p.times[0]), millis(p.times[len(p.times)-1]), kind, p.design.SmallestP(o))
	if f.correct == byClusters {
		fmt.Fprintln(w, extentCaution)
	}
	if f.output != "" && !f.drawn() && marked {
		console.Say(w, "Next: calotte map … --field t --mark %s\n", strings.TrimSuffix(f.output, filepath.Ext(f.output))+"_marks.tsv")
	}
}

// millis is a time as people read it.
func millis(s float64) string {
	return unit.Latency{Span: unit.Span{From: unit.Time(s), To: unit.Time(s)}}.Label()
}

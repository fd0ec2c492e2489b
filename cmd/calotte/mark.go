package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/disk"
	"calotte/layout"
	"calotte/render/scalp"
	"calotte/topo/provenance"
	"calotte/topo/rowtable"
	"calotte/topo/unit"
)

// markFlag is a table of electrodes to be marked on maps, as compare writes it or as
// someone wrote by hand.
type markFlag struct {
	path   string
	marked []marked
	source provenance.Source
	paths  []string // read
	tested bool     // a test stands behind the table
}

// A marked electrode, with the stretch of time that it is marked for.
type marked struct {
	site layout.Name
	span unit.Span // zero: always
	p    float64   // NaN: not told
}

func (m *markFlag) register(c *cobra.Command) {
	c.Flags().StringVar(&m.path, "mark", "", "`FILE` of electrodes to mark: column site, and if wanted from, to (in s) and p")
}

// read loads the table, if one is given, and what made it.
func (m *markFlag) read() error {
	if m.path == "" {
		return nil
	}
	text, err := disk.ReadFile(m.path)
	if err != nil {
		return err
	}
	m.paths = []string{m.path}
	m.source = source(m.path, text)
	rows, err := rowtable.Read(bytes.NewReader(text), "site")
	if err == nil {
		err = m.add(rows)
	}
	if err != nil {
		return fmt.Errorf("%s: %w", m.path, err)
	}
	return m.findTest()
}

func (m *markFlag) add(t *rowtable.Table) error {
	for _, row := range t.Rows {
		name, err := layout.Parse(row.Text("site"))
		if err != nil {
			return row.Fault("site", strconv.Quote(rowtable.Clip(row.Text("site"))), "a site such as P7")
		}
		k := marked{site: name}
		var ends [2]float64
		for i, column := range []string{"from", "to"} {
			if row.Text(column) == "" {
				continue
			}
			if ends[i], err = row.Number(column, "a time in s", false); err != nil {
				return err
			}
		}
		if (row.Text("from") == "") != (row.Text("to") == "") || ends[0] > ends[1] {
			return row.Fault("to", strconv.Quote(rowtable.Clip(row.Text("to"))), "both from and to, the earlier one first, or neither")
		}
		k.span = unit.Span{From: unit.Time(ends[0]), To: unit.Time(ends[1])}
		if k.p, err = row.Number("p", "a probability", true); err != nil {
			return err
		}
		m.marked = append(m.marked, k)
	}
	if m.marked == nil {
		return &rowtable.Error{Got: "no electrode", Want: "expected a line for each"}
	}
	return nil
}

// findTest looks at the JSON beside the table: whether a test made it as it is.
func (m *markFlag) findTest() error {
	beside := strings.TrimSuffix(m.path, filepath.Ext(m.path)) + ".json"
	text, err := disk.ReadFile(beside)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	m.paths = append(m.paths, beside)
	var record struct {
		Files      []provenance.Source
		Provenance provenance.Record
	}
	if json.Unmarshal(text, &record) != nil || record.Provenance.Work != "compare" {
		return nil
	}
	m.tested = slices.ContainsFunc(record.Files, func(s provenance.Source) bool { return s.SHA256 == m.source.SHA256 })
	if !m.tested {
		return fmt.Errorf("%s has changed since compare wrote it: make it anew, or remove %s to mark electrodes without a test", m.path, beside)
	}
	return nil
}

// choice says in the legend why electrodes are marked.
func (m *markFlag) choice() string {
	if !m.tested {
		return fmt.Sprintf("listed in %s; no test, uncorrected", filepath.Base(m.path))
	}
	var ps []float64
	for _, k := range m.marked {
		if !slices.Contains(ps, k.p) {
			ps = append(ps, k.p)
		}
	}
	slices.Sort(ps)
	if len(ps) == 1 {
		return fmt.Sprintf("in a cluster of the test, p* %.4g", ps[0])
	}
	return fmt.Sprintf("in clusters of the test, p* %.4g to %.4g", ps[0], ps[len(ps)-1])
}

// chosen lists, for each latency, the marks that the table names then.
func (m *markFlag) chosen(marks []scalp.Mark, at unit.Latencies) [][]int {
	if m.path == "" {
		return nil
	}
	out := make([][]int, len(at))
	for column, latency := range at {
		for i, mark := range marks {
			name, err := layout.Parse(mark.Site.Name)
			holds := func(k marked) bool {
				return k.site == name && (k.span == unit.Span{} || k.span.From <= latency.To && latency.From <= k.span.To)
			}
			if err == nil && slices.ContainsFunc(m.marked, holds) {
				out[column] = append(out[column], i)
			}
		}
	}
	return out
}

// missing are the marked sites that no average has.
func (m *markFlag) missing(columns []string) []string {
	index := layout.Rows(columns)
	var out []string
	for _, k := range m.marked {
		if _, ok := index[k.site]; !ok && !slices.Contains(out, string(k.site)) {
			out = append(out, string(k.site))
		}
	}
	return out
}

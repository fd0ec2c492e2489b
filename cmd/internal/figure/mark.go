package figure

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

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/disk"
	"calotte/layout"
	"calotte/layout/rowtable"
	"calotte/render/scalp"
	"calotte/topo/provenance"
	"calotte/topo/unit"
)

// Marks is a table of electrodes to be marked on maps, as compare writes it or
// as someone wrote by hand.
type Marks struct {
	Path   string
	Marked []Marked
	Source provenance.Source
	Paths  []string // read
	tested bool     // a test stands behind the table
}

// A Marked electrode, with the stretch of time that it is marked for.
type Marked struct {
	Site layout.Name
	Span unit.Span // zero: always
	p    float64   // NaN: not told
}

// Register adds the flag.
func (m *Marks) Register(c *cobra.Command) {
	c.Flags().StringVar(&m.Path, "mark", "",
		"`FILE` of electrodes to mark: column site, and if wanted from, to (in s) and p")
}

// Read loads the table, if one is given, and what made it.
func (m *Marks) Read() error {
	if m.Path == "" {
		return nil
	}
	text, err := disk.ReadFile(m.Path)
	if err != nil {
		return err
	}
	m.Paths = []string{m.Path}
	m.Source = archive.Source(m.Path, text)
	rows, err := rowtable.Read(bytes.NewReader(text), "site")
	if err == nil {
		err = m.add(rows)
	}
	if err != nil {
		return fmt.Errorf("%s: %w", m.Path, err)
	}
	return m.findTest()
}

func (m *Marks) add(t *rowtable.Table) error {
	for _, row := range t.Rows {
		name, err := layout.Parse(row.Text("site"))
		if err != nil {
			return row.Fault("site", strconv.Quote(rowtable.Clip(row.Text("site"))), "a site such as P7")
		}
		k := Marked{Site: name}
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
			return row.Fault("to", strconv.Quote(rowtable.Clip(row.Text("to"))),
				"both from and to, the earlier one first, or neither")
		}
		k.Span = unit.Span{From: unit.Time(ends[0]), To: unit.Time(ends[1])}
		if k.p, err = row.Number("p", "a probability", true); err != nil {
			return err
		}
		m.Marked = append(m.Marked, k)
	}
	if m.Marked == nil {
		return &rowtable.Error{Got: "no electrode", Want: "expected a line for each"}
	}
	return nil
}

// findTest looks at the JSON beside the table: whether a test made it as it is.
func (m *Marks) findTest() error {
	beside := strings.TrimSuffix(m.Path, filepath.Ext(m.Path)) + ".json"
	text, err := disk.ReadFile(beside)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	m.Paths = append(m.Paths, beside)
	var record struct {
		Files      []provenance.Source
		Provenance provenance.Record
	}
	if json.Unmarshal(text, &record) != nil || record.Provenance.Work != "compare" {
		return nil
	}
	m.tested = slices.ContainsFunc(record.Files,
		func(s provenance.Source) bool { return s.SHA256 == m.Source.SHA256 })
	if !m.tested {
		return fmt.Errorf("%s has changed since compare wrote it: make it anew, or remove %s to mark "+
			"electrodes "+
			"without a test", m.Path, beside)
	}
	return nil
}

// Choice says in the legend why electrodes are marked.
func (m *Marks) Choice() string {
	if !m.tested {
		return fmt.Sprintf("listed in %s; no test, uncorrected", filepath.Base(m.Path))
	}
	var ps []float64
	for _, k := range m.Marked {
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

// Chosen lists, for each latency, the marks that the table names then.
func (m *Marks) Chosen(marks []scalp.Mark, at unit.Latencies) [][]int {
	if m.Path == "" {
		return nil
	}
	out := make([][]int, len(at))
	for column, latency := range at {
		for i, mark := range marks {
			name, err := layout.Parse(mark.Site.Name)
			holds := func(k Marked) bool {
				return k.Site == name &&
					(k.Span == unit.Span{} ||
						k.Span.From <= latency.To && latency.From <= k.Span.To)
			}
			if err == nil && slices.ContainsFunc(m.Marked, holds) {
				out[column] = append(out[column], i)
			}
		}
	}
	return out
}

// Missing are the marked sites that no average has.
func (m *Marks) Missing(columns []string) []string {
	index := layout.Rows(columns)
	var out []string
	for _, k := range m.Marked {
		if _, ok := index[k.Site]; !ok && !slices.Contains(out, string(k.Site)) {
			out = append(out, string(k.Site))
		}
	}
	return out
}

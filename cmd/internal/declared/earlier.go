package declared

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"calotte/cmd/internal/averages"
	"calotte/cmd/internal/disk"
	"calotte/topo/provenance"
)

// mostBeside is how many files beside an output are looked at.
const mostBeside = 1000

// Earlier says which tests of the same averages stand in tables beside an
// output, other than that itself, in words, and what the least p of each was.
// Files that cannot be read are somebody else's.
func Earlier(output string, made provenance.Record) []string {
	entries, _ := disk.ReadDir(filepath.Dir(output)) // what cannot be read holds nothing to tell of
	own := filepath.Base(averages.SavedTable{Path: output}.JSON())
	var said []string
	for _, e := range entries[:min(len(entries), mostBeside)] {
		// marks are of the same test as the table without that ending
		if e.Name() == own || filepath.Ext(e.Name()) != ".json" || strings.HasSuffix(e.Name(), "_marks.json") {
			continue
		}
		path := filepath.Join(filepath.Dir(output), e.Name())
		var record averages.TableRecord
		text, err := disk.ReadFile(path)
		if err != nil || json.Unmarshal(text, &record) != nil || !otherTest(record.Provenance, made) {
			continue
		}
		table := strings.TrimSuffix(path, ".json") + ".tsv"
		if found, ok := leastP(table); ok {
			s := record.Provenance.Settings
			said = append(said, fmt.Sprintf("The same averages were tested before (%s: %s%s, %s): report every "+
				"test that was run.", filepath.Base(table), s["correct"], duringOf(s), found))
		}
	}
	return said
}

// otherTest reports whether a record is of a test of the same averages, by
// other settings.
func otherTest(record, made provenance.Record) bool {
	if record.Work != "compare" || !slices.Equal(averagesOf(record), averagesOf(made)) {
		return false
	}
	return slices.ContainsFunc(decide, func(key string) bool { return record.Settings[key] != made.Settings[key] })
}

func averagesOf(r provenance.Record) []string {
	var hashes []string
	for _, in := range r.Inputs {
		if strings.HasSuffix(in.Name, "_average.tsv") {
			hashes = append(hashes, in.SHA256)
		}
	}
	slices.Sort(hashes)
	return hashes
}

func duringOf(settings map[string]string) string {
	if during := settings["during"]; during != "" {
		return " over " + during
	}
	return ""
}

// leastP is the least p of a table of clusters, in words.
func leastP(table string) (words string, ok bool) {
	text, err := disk.ReadFile(table)
	if err != nil {
		return "", false
	}
	r := csv.NewReader(strings.NewReader(string(text)))
	r.Comma = '\t'
	rows, err := r.ReadAll()
	if err != nil || len(rows) == 0 || !slices.Contains(rows[0], "cluster") {
		return "", false
	}
	at, least := slices.Index(rows[0], "p"), math.Inf(1)
	if at < 0 {
		return "", false
	}
	for _, row := range rows[1:] {
		if p, err := strconv.ParseFloat(row[at], 64); err == nil {
			least = min(least, p)
		}
	}
	if math.IsInf(least, 1) {
		return "no cluster", true
	}
	return fmt.Sprintf("least p* %.2g", least), true
}

package cohort

import (
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"html/template"
	"maps"
	"math"
	"net/url"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/averages"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/cmd/internal/methods"
	"calotte/topo/erp/average"
	"calotte/topo/provenance"
)

// Files of the results that tell of all others.
const (
	IndexPage    = "index.html"
	qualityTable = "quality.tsv"
	methodsFile  = "methods.txt"
	datasetFile  = "dataset_description.json"
)

//go:embed index.html
var indexMarkup string

//go:embed index.css
var indexStyle string

// writeReports writes what tells of the results: a table of quality, the
// methods text, the description of the data set, and the index.
func (s *Study) writeReports(ctx context.Context, standing []Record) error {
	quality, err := s.quality(standing)
	if err != nil {
		return err
	}
	methods, err := s.methods()
	if err != nil {
		return err
	}
	description, err := s.description()
	if err != nil {
		return err
	}
	index, err := s.index(standing, quality)
	if err != nil {
		return err
	}
	var table bytes.Buffer
	if err := console.Table(&table, qualityColumns, quality); err != nil {
		return err
	}
	return s.Ledger.put(ctx, made{qualityTable, table.Bytes()}, made{methodsFile, methods},
		made{datasetFile, description}, made{IndexPage, index})
}

var qualityColumns = []string{"participant", "condition", "kept", "lost", "why_lost", "left_out", "repaired",
	"plus_minus_uv", "cap_mm", "note"}

// quality is a row for each person and condition.
func (s *Study) quality(standing []Record) ([][]string, error) {
	const missing = "n/a"
	survived := map[string]bool{}
	for _, name := range s.Survivors() {
		survived[name] = true
	}
	reasons := map[string]string{}
	for _, r := range standing {
		if r.without() && reasons[r.Person] == "" {
			reasons[r.Person] = r.State + ": " + r.Error
		}
	}
	var rows [][]string
	for _, x := range s.People {
		if !survived[x.Name] {
			rows = append(rows, []string{x.Name, missing, missing, missing, missing, missing, missing,
				missing,
				missing,
				reasons[x.Name]})
			continue
		}
		moved, err := s.capMoved(x)
		if err != nil {
			return nil, err
		}
		for _, condition := range s.conditions() {
			info, err := s.info(s.averagePath(x.Name, x.Name, condition))
			if err != nil {
				return nil, err
			}
			row := []string{x.Name, condition, missing, missing, missing,
				cmp.Or(strings.Join(info.LeftOut, ","), missing),
				cmp.Or(strings.Join(replaced(info), ","), missing),
				missing, moved, missing}
			if e := info.Epochs; e != nil {
				row[2], row[3] = strconv.Itoa(e.Kept), strconv.Itoa(e.Lost())
				if e.Lost() > 0 {
					row[4] = e.Reasons()
				}
			}
			if q := info.Quality; q != nil && q.PlusMinus > 0 {
				row[7] = strconv.FormatFloat(q.PlusMinus, 'f', 3, 64)
			}
			if q := info.Quality; q != nil && len(q.Warnings) > 0 {
				row[9] = strings.Join(q.Warnings, "; ")
			}
			rows = append(rows, row)
		}
	}
	return rows, nil
}

// replaced lists the sites that were repaired, with the number of epochs where
// it was in some alone.
func replaced(info average.Info) []string {
	list := slices.Clone(info.Repaired)
	for _, site := range slices.Sorted(maps.Keys(info.Mended)) {
		list = append(list, fmt.Sprintf("%s(%d)", site, info.Mended[site]))
	}
	return list
}

// largestInfo is more than is known of the average of ten thousand people.
const largestInfo = 64 << 20

// info is what the JSON beside the table of an average says of it.
func (s *Study) info(table string) (average.Info, error) {
	path := strings.TrimSuffix(table, ".tsv") + ".json"
	name, _ := s.Ledger.name(path)
	text, err := s.Ledger.read(name, largestInfo)
	if err != nil {
		return average.Info{}, err
	}
	return archive.ParseInfo(path, text)
}

// capMoved is how far a person's electrodes lie from their places along the
// scalp, the root mean square in mm.
func (s *Study) capMoved(x Participant) (string, error) {
	if x.electrodes == "" || s.head == "" {
		return "n/a", nil
	}
	name := x.Name + "/" + x.Name + capSuffix
	text, err := s.Ledger.read(name, largestInfo)
	if err != nil {
		return "", err
	}
	moved, err := parseCapCheck(text)
	if err != nil {
		return "", fmt.Errorf("%s is no cap check: %w: remove it, and run again", s.Ledger.path(name), err)
	}
	return strconv.FormatFloat(moved, 'f', 1, 64), nil
}

// parseCapCheck is the root mean square of the distances along the scalp in a
// cap check.
func parseCapCheck(text []byte) (float64, error) {
	var check struct {
		Sites []struct{ Along *float64 }
	}
	if err := parse(text, &check); err != nil {
		return 0, err
	}
	if len(check.Sites) == 0 {
		return 0, errors.New("no sites")
	}
	sum := 0.
	for i, e := range check.Sites {
		if e.Along == nil || !(*e.Along >= 0) {
			return 0, fmt.Errorf("site %d: expected how far it is off, along", i+1)
		}
		sum += *e.Along * *e.Along
	}
	return math.Sqrt(sum / float64(len(check.Sites))), nil
}

// methods is the text for a paper, of all that was made.
func (s *Study) methods() ([]byte, error) {
	var account methods.Account
	take := func(list *[]average.Info, path string) error {
		info, err := s.info(path)
		*list = append(*list, info)
		if err == nil && account.Sites == nil {
			var avg *average.Average
			if avg, _, err = archive.Load(path, average.Clock{}); err == nil {
				account.Sites = avg.Sites
			}
		}
		return err
	}
	for _, name := range s.Survivors() {
		for _, condition := range s.conditions() {
			if err := take(&account.People, s.averagePath(name, name, condition)); err != nil {
				return nil, err
			}
		}
	}
	for _, slug := range s.slugs() {
		if r, ok := s.Ledger.Read(s.combineID(slug)); !ok || r.State != Done {
			continue // it failed, which the index tells
		}
		if err := take(&account.Groups, s.averagePath(GroupFolder, s.Name, slug)); err != nil {
			return nil, err
		}
	}
	for _, it := range s.items {
		path := filepath.Join(s.Dir, folderOf(it), it.name)
		if r, ok := s.Ledger.Read(it.id()); !ok || r.State != Done || filepath.Ext(path) == "" {
			continue
		}
		if _, err := s.Ledger.stat(path); err != nil {
			return nil, err
		}
		made, err := archive.ReadOrigin(path)
		if err != nil {
			return nil, err
		}
		account.Figures = append(account.Figures, *made)
	}
	return []byte(strings.Join(account.Paragraphs(), "\n\n") + "\n"), nil
}

// description is that of a data set of derivatives.
func (s *Study) description() ([]byte, error) {
	text, err := disk.ReadFile(s.Path)
	if err != nil {
		return nil, err
	}
	return indented(map[string]any{
		"Name":        s.Name + ": results",
		"BIDSVersion": "1.8.0",
		"DatasetType": "derivative",
		"GeneratedBy": []any{map[string]any{"Name": "calotte", "Version": s.Version,
			"Description": "calotte cohort run " + filepath.Base(s.Path)}},
		"Recipe": provenance.Source{Name: filepath.Base(s.Path), SHA256: archive.Hash(text)},
	})
}

func indented(content any) ([]byte, error) {
	text, err := json.MarshalIndent(content, "", "  ")
	return append(text, '\n'), err
}

// A shownFile is one that the index shows or links.
type shownFile struct {
	Name, Title, Link string
	Picture           bool
}

// A finding is what a table says in sentences of what was found.
type finding struct {
	Table shownFile
	Words []string
}

// finding reads that of a table's JSON; others say nothing.
func (s *Study) finding(table shownFile, path string) (f finding, err error) {
	text, err := s.Ledger.read(path, largestInfo)
	if err != nil {
		return f, err
	}
	var record averages.TableRecord
	if err := parse(text, &record); err != nil {
		return f, fmt.Errorf("%s: %w", s.Ledger.path(path), err)
	}
	return finding{table, record.Words}, nil
}

// index tells what was found, shows all figures and the quality of the data,
// and leads to everything else.
func (s *Study) index(standing []Record, quality [][]string) ([]byte, error) {
	var findings []finding
	var figures, others []shownFile
	for _, it := range s.items {
		r, ok := s.Ledger.Read(it.id())
		if !ok || r.State != Done {
			continue
		}
		for _, f := range r.Files {
			shown := shownFile{Name: filepath.Base(f.Path), Title: it.verb,
				Link: (&url.URL{Path: f.Path}).String()}
			switch strings.ToLower(filepath.Ext(f.Path)) {
			case ".svg", ".png", ".gif", ".apng":
				shown.Picture = filepath.Dir(f.Path) == "figures"
			case ".json":
				table := shown
				table.Name = strings.TrimSuffix(table.Name, ".json") + ".tsv"
				table.Link = strings.TrimSuffix(shown.Link, ".json") + ".tsv"
				found, err := s.finding(table, f.Path)
				if err != nil {
					return nil, err
				}
				if found.Words != nil {
					findings = append(findings, found)
				}
				continue
			}
			if shown.Picture {
				figures = append(figures, shown)
			} else {
				others = append(others, shown)
			}
		}
	}
	for _, name := range []string{qualityTable, methodsFile} {
		others = append(others, shownFile{Name: name, Title: "of the study", Link: name})
	}
	var failed []Record
	for _, r := range standing {
		if r.without() {
			failed = append(failed, r)
		}
	}
	t, err := template.New("index").Parse(indexMarkup)
	if err != nil {
		return nil, err
	}
	sum := sha256.Sum256([]byte(indexStyle))
	var b bytes.Buffer
	err = t.Execute(&b, map[string]any{
		"Name": s.Name, "People": len(s.Survivors()), "All": len(s.People),
		"Policy": "default-src 'none'; img-src 'self'; style-src 'sha256-" +
			base64.StdEncoding.EncodeToString(sum[:]) +
			"'; base-uri 'none'; form-action 'none'",
		"Style": template.CSS(indexStyle), "Findings": findings, "Figures": figures, "Others": others, "Failed": failed,
		"Columns": qualityColumns, "Quality": quality, "Version": s.Version,
	})
	return b.Bytes(), err
}

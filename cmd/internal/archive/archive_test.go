package archive

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"calotte/cmd/internal/disk"
	"calotte/topo/erp/average"
	"calotte/topo/erp/reject"
	"calotte/topo/erp/store"
	"calotte/topo/provenance"
)

// sample is an average with everything that one can have.
func sample() *average.Average {
	return &average.Average{
		Info: average.Info{
			Kind: average.Participant, Name: "sub-01", Condition: "known",
			Epochs:    &average.Counts{Kept: 31, Rejected: map[string]int{reject.PeakToPeak: 3}},
			Reference: "average of 3 sites", Baseline: "-200..0ms", Filters: "none", Rate: 300,
			Repaired: []string{"Cz"}, Synthetic: true,
			Provenance: provenance.Record{Program: "calotte", Version: "1", Work: "average",
				Settings: map[string]string{"epoch": "0..10ms"},
				Inputs:   []provenance.Source{{Name: "rec.edf", SHA256: "00ff"}}},
		},
		Sites: []string{"T3", "T4", "Cz"}, Times: []float64{-1.0 / 300, 0, 1.0 / 300},
		Mean: [][]float64{{0.1, -2, 1.0 / 3}, {4, 5e-7, 6}, {7, 8, 9}},
		SEM:  [][]float64{{1, 1, 1}, {2, 2, 2}, {3, 3, 0.1}},
		Pairs: average.Pairs{Names: []string{"T4-T3"}, Mean: [][]float64{{3.9, 2, 5}},
			SEM: [][]float64{{1.5, 1.5, 0.3}}},
	}
}

// save writes an average into a folder of its own.
func save(t *testing.T, a *average.Average) (table string) {
	t.Helper()
	var files disk.Files
	table, err := Save(&files, t.TempDir(), a)
	if err != nil {
		t.Fatal(err)
	}
	if err := files.Write(t.Context()); err != nil {
		t.Fatal(err)
	}
	return table
}

func names(t *testing.T, table string) []string {
	t.Helper()
	entries, err := os.ReadDir(filepath.Dir(table))
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, e := range entries {
		out = append(out, e.Name())
	}
	return out
}

func wantError(t *testing.T, err error, parts ...string) {
	t.Helper()
	if err == nil {
		t.Errorf("no error, want %q", parts)
		return
	}
	for _, p := range parts {
		if !strings.Contains(err.Error(), p) {
			t.Errorf("error %q does not say %q", err, p)
		}
	}
	if strings.Contains(err.Error(), "\n") {
		t.Errorf("error %q has more than one line", err)
	}
}

func TestRoundTrip(t *testing.T) {
	for name, change := range map[string]func(a *average.Average){
		"whole":        func(*average.Average) {},
		"one epoch":    func(a *average.Average) { a.SEM, a.Pairs.SEM = nil, nil },
		"no pairs":     func(a *average.Average) { a.Sites[0], a.Pairs = "Fz", average.Pairs{} },
		"a difference": func(a *average.Average) { a.Info.Minus, a.Info.Epochs = "novel", nil },
		"unknown sites": func(a *average.Average) {
			a.Sites, a.Pairs = []string{"E 1", "E2", "µ"},
				average.Pairs{}
		},
	} {
		t.Run(name, func(t *testing.T) {
			a := sample()
			change(a)
			table := save(t, a)
			got, _, err := Load(table, average.Clock{})
			if err != nil {
				t.Fatal(err)
			}
			want := names(t, table)
			var listed []string
			for _, f := range got.Info.Files {
				listed = append(listed, f.Name)
				b, err := os.ReadFile(filepath.Join(filepath.Dir(table), f.Name))
				if err != nil || Hash(b) != f.SHA256 {
					t.Errorf("%s: hash %s, %v, want %s", f.Name, Hash(b), err, f.SHA256)
				}
			}
			slices.Sort(listed)
			want = slices.DeleteFunc(want,
				func(n string) bool { return strings.HasSuffix(n, store.InfoSuffix) })
			if !slices.Equal(listed, want) {
				t.Errorf("the JSON lists %v, there are %v", listed, want)
			}
			got.Info.Files = nil
			if !reflect.DeepEqual(got, a) {
				t.Errorf("read back:\n%+v, want\n%+v", got, a)
			}
		})
	}
}

func TestSaveNames(t *testing.T) {
	a := sample()
	a.Info.Minus = "novel"
	var files disk.Files
	table, err := Save(&files, "dir", a)
	if err != nil || table != filepath.Join("dir", "sub-01_known-novel_average.tsv") {
		t.Errorf("%s, %v", table, err)
	}
	paths := Paths("dir", Stem("sub-01", "known-novel"))
	if !slices.Contains(paths, table) || len(paths) != 6 || !strings.HasSuffix(paths[5], store.InfoSuffix) {
		t.Errorf("paths %v", paths)
	}
	if a.Info.Files != nil {
		t.Error("Save changed the average")
	}
	for _, name := range []string{"../sub", "a/b", `a\b`, ".hidden", "a\x00", "a b", "a:b", "a\u0085", "\xff"} {
		a.Info.Name = name
		_, err := Save(&files, "dir", a)
		wantError(t, err, "cannot begin a file's name")
	}
}

// The same average gives the same bytes.
func TestSaveIsDeterministic(t *testing.T) {
	first, second := save(t, sample()), save(t, sample())
	for _, name := range names(t, first) {
		a, err := os.ReadFile(filepath.Join(filepath.Dir(first), name))
		if err != nil {
			t.Fatal(err)
		}
		b, err := os.ReadFile(filepath.Join(filepath.Dir(second), name))
		if err != nil || !bytes.Equal(a, b) {
			t.Errorf("%s differs, %v", name, err)
		}
	}
}

func TestLoadRefuses(t *testing.T) {
	edit := func(suffix string, change func(text string) string) func(t *testing.T, stem string) {
		return func(t *testing.T, stem string) {
			b, err := os.ReadFile(stem + suffix)
			if err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(stem+suffix, []byte(change(string(b))), 0o666); err != nil {
				t.Fatal(err)
			}
		}
	}
	remove := func(suffix string) func(t *testing.T, stem string) {
		return func(t *testing.T, stem string) {
			if err := os.Remove(stem + suffix); err != nil {
				t.Fatal(err)
			}
		}
	}
	digit := func(text string) string { return strings.Replace(text, "9", "8", 1) }
	// relist gives a file new content and the JSON its hash.
	relist := func(suffix string, change func(text string) string) func(t *testing.T, stem string) {
		return func(t *testing.T, stem string) {
			edit(suffix, change)(t, stem)
			b, err := os.ReadFile(stem + suffix)
			if err != nil {
				t.Fatal(err)
			}
			edit(store.InfoSuffix, func(text string) string {
				var info average.Info
				if err := json.Unmarshal([]byte(text), &info); err != nil {
					t.Fatal(err)
				}
				for i, f := range info.Files {
					if strings.HasSuffix(f.Name, suffix) {
						info.Files[i].SHA256 = Hash(b)
					}
				}
				out, err := json.Marshal(info)
				if err != nil {
					t.Fatal(err)
				}
				return string(out)
			})(t, stem)
		}
	}
	for _, c := range []struct {
		name   string
		change func(t *testing.T, stem string)
		want   string
	}{
		{"changed table", edit(store.TableSuffix, digit),
			"sub-01_known_average.tsv is not the table that sub-01_known_average.json describes: restore " +
				"it, or give " +
				"the changed table a name"},
		{"errors in place of the table", func(t *testing.T, stem string) {
			b, err := os.ReadFile(stem + store.SEMSuffix)
			if err != nil {
				t.Fatal(err)
			}
			edit(store.TableSuffix, func(string) string { return string(b) })(t, stem)
		}, "is not the table that"},
		{"changed errors", edit(store.SEMSuffix, func(s string) string { return s + "1\t1\t1\t1\n" }),
			"sub-01_known_sem.tsv has changed since it was written: average again, or rename " +
				"sub-01_known_average.tsv to use it alone"},
		{"changed pairs", edit(store.PairsSuffix, digit), "_pairs.tsv has changed"},
		{"missing errors", remove(store.SEMSuffix), "sub-01_known_sem.tsv is missing: restore it, or rename"},
		{"missing pairs", remove(store.PairsSuffix), "sub-01_known_pairs.tsv is missing"},
		{"broken JSON", edit(store.InfoSuffix, func(s string) string { return s[:len(s)/2] }),
			"_average.json: unexpected end of JSON input: restore the file that was written with the table"},
		{"empty JSON", edit(store.InfoSuffix, func(string) string { return "{}" }), "is not the table that"},
		{"another JSON", edit(store.InfoSuffix, func(string) string { return "[1, 2]" }),
			"_average.json: json: cannot unmarshal array"},
		{"a JSON of nothing", edit(store.InfoSuffix, func(string) string { return "null" }),
			"is not the table that"},
		{"a text for a number", edit(store.InfoSuffix,
			func(s string) string { return strings.Replace(s, `"rate_hz": 300`, `"rate_hz": "300"`, 1) }),
			"_average.json: json: cannot unmarshal string"},
		{"not a number", edit(store.InfoSuffix,
			func(s string) string { return strings.Replace(s, `"rate_hz": 300`, `"rate_hz": NaN`, 1) }),
			"_average.json: invalid character 'N'"},
		{"another kind", edit(store.InfoSuffix,
			func(s string) string { return strings.Replace(s, `"participant"`, `"mean"`, 1) }),
			`_average.json: kind "mean": expected "participant"`},
		{"negative count", edit(store.InfoSuffix,
			func(s string) string { return strings.Replace(s, `"kept": 31`, `"kept": -31`, 1) }),
			"_average.json: -31 epochs kept"},
		{"other sites in the errors",
			relist(store.SEMSuffix, func(s string) string {
				return strings.Replace(s, "T3\tT4", "T4\tT3",
					1)
			}),
			"_sem.tsv has other sites than the average"},
		{"fewer samples", relist(store.SEMSuffix,
			func(s string) string { return s[:strings.LastIndex(s[:len(s)-1], "\n")+1] }),
			"_sem.tsv: 2 samples, the average has 3"},
		{"errors of more pairs",
			relist(store.PairsSuffix,
				func(s string) string { return strings.Replace(s, "T4-T3\t", "C4-C3_sem\t", 1) }),
			"_pairs.tsv has 0 pairs and errors of 2"},
		{"broken errors", relist(store.SEMSuffix, func(string) string { return "time\tCz\n" }),
			"_sem.tsv: 0 samples"},
		{"broken table", edit(store.TableSuffix, func(s string) string { return s + "x\n" }),
			"_average.tsv: line 5: 1 column:"},
	} {
		t.Run(c.name, func(t *testing.T) {
			table := save(t, sample())
			c.change(t, strings.TrimSuffix(table, store.TableSuffix))
			a, _, err := Load(table, average.Clock{})
			wantError(t, err, c.want)
			if a != nil {
				t.Error("an average beside the error")
			}
		})
	}
}

// What is read without the table is looked at as closely.
func TestReadInfoRefuses(t *testing.T) {
	table := save(t, sample())
	path := describing(table)
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ old, new, want string }{
		{string(whole), "null", `kind ""`},
		{string(whole), "{}", `kind ""`},
		{string(whole), "[]", "cannot unmarshal array"},
		{string(whole), "", "unexpected end"},
		{`"kind": "participant",`, "", `kind ""`},
		{`"kind": "participant"`, `"kind": 1`, "cannot unmarshal number"},
		{`"rate_hz": 300`, `"rate_hz": -300`, "rate_hz -300"},
		{`"rate_hz": 300`, `"rate_hz": NaN`, "invalid character 'N'"},
		{`"rate_hz": 300`, `"rate_hz": 1e999`, "cannot unmarshal number"},
		{`"kept": 31`, `"kept": 3.5`, "cannot unmarshal number"},
		{`"kept": 31`, `"kept": -1`, "-1 epochs kept"},
		{`"provenance": {`, `"provenance": [], "other": {`, "cannot unmarshal array"},
	} {
		text := strings.Replace(string(whole), c.old, c.new, 1)
		if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		_, err := ReadInfo(table)
		wantError(t, err, "sub-01_known_average.json: ", c.want, "restore the file")
	}
	known := strings.Replace(string(whole), `"kind"`, `"later": [{}], "kind"`, 1)
	if err := os.WriteFile(path, []byte(known), 0o666); err != nil {
		t.Fatal(err)
	}
	if _, err := ReadInfo(table); err != nil {
		t.Errorf("a member that nobody knows: %v", err)
	}
}

func TestLoadRefusesTheOtherFiles(t *testing.T) {
	table := save(t, sample())
	stem := strings.TrimSuffix(table, store.TableSuffix)
	for suffix, want := range map[string]string{
		store.SEMSuffix: "holds standard errors, not an average: give the table beside it, " +
			"sub-01_known_average.tsv",
		store.PairsSuffix: "holds left-right differences, not an average: give the table beside it, " +
			"sub-01_known_average.tsv",
		store.InfoSuffix: "describes an average: give the table beside it, sub-01_known_average.tsv",
	} {
		_, _, err := Load(stem+suffix, average.Clock{})
		wantError(t, err, want)
	}
	if _, _, err := Load(stem+"_nothing.tsv", average.Clock{}); !os.IsNotExist(err) {
		t.Errorf("%v, want that there is no such file", err)
	}
	_, _, err := Load(table, average.Clock{Rate: 100})
	wantError(t, err, "a time column and a given sampling rate")
}

func TestLoadTableAlone(t *testing.T) {
	for _, c := range []struct{ file, name, condition string }{
		{"sub-07_known_average.tsv", "sub-07", "known"},
		{"group_a_known-novel_average.tsv", "group_a", "known-novel"},
		{"known_average.tsv", "known", "known"},
		{"_average.tsv", "", ""},
		{"visual.csv", "visual", "visual"},
		{"visual.old.txt", "visual.old", "visual.old"},
	} {
		path := filepath.Join(t.TempDir(), c.file)
		text := []byte("Fz,Cz\n1,2\n3,4\n")
		if err := os.WriteFile(path, text, 0o666); err != nil {
			t.Fatal(err)
		}
		a, _, err := Load(path, average.Clock{Rate: 250, First: -0.1})
		if err != nil {
			t.Error(err)
			continue
		}
		i := a.Info
		if i.Kind != average.Table || i.Name != c.name || i.Condition != c.condition || i.Reference != "" ||
			i.Rate != 250 {
			t.Errorf("%s: %+v", c.file, i)
		}
		if len(i.Files) != 1 || i.Files[0] != (provenance.Source{Name: c.file, SHA256: Hash(text)}) {
			t.Errorf("%s: files %v", c.file, i.Files)
		}
		if a.SEM != nil || a.Pairs.Names != nil || a.Mean[1][1] != 4 || a.Times[0] != -0.1 {
			t.Errorf("%s: %+v", c.file, a)
		}
	}
	path := filepath.Join(t.TempDir(), "volts.tsv")
	if err := os.WriteFile(path, []byte("time\tCz\n0\t1e-6\n0.004\t2e-6\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	_, _, err := Load(path, average.Clock{})
	wantError(t, err, "volts.tsv: the largest amplitude is 2e-06, which looks like volts")
}

// SHA-256 of "abc", FIPS 180-2, appendix B.1 (from memory).
func TestHash(t *testing.T) {
	if got, want := Hash([]byte("abc")),
		"ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
}

// A file that was read is never to be written to, so all of them are named.
func TestLoadSaysWhatItRead(t *testing.T) {
	table := save(t, sample())
	_, read, err := Load(table, average.Clock{})
	if err != nil {
		t.Fatal(err)
	}
	want := slices.DeleteFunc(Paths(filepath.Dir(table), Stem("sub-01", "known")),
		func(p string) bool { return strings.Contains(p, "_epochs") })
	slices.Sort(want)
	slices.Sort(read)
	if !slices.Equal(read, want) {
		t.Errorf("read %v, want %v", read, want)
	}
	alone := filepath.Join(t.TempDir(), "own.tsv")
	if err := os.WriteFile(alone, []byte("time\tCz\n0\t1\n0.004\t2\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	if _, read, err := Load(alone, average.Clock{}); err != nil || !slices.Equal(read, []string{alone}) {
		t.Errorf("read %v, %v", read, err)
	}
}

func TestLoadTellsRecordings(t *testing.T) {
	path := filepath.Join(t.TempDir(), "rec.tsv")
	if err := os.WriteFile(path, []byte("0       X X X X"), 0o666); err != nil {
		t.Fatal(err)
	}
	_, _, err := Load(path, average.Clock{})
	wantError(t, err, "rec.tsv is a recording, not an average: average it first")
}

func TestFitStem(t *testing.T) {
	for text, want := range map[string]string{
		"S001R03": "S001R03", "rec 1": "rec-1", "été_2.b+": "été_2.b+", ".hidden": "_hidden", "..": "_.",
		"":       "_",
		"a\xffb": "a-b", "a/b": "a-b",
		"-rf": "_rf", "--": "_-", "(rec)": "_rec-", "/x": "_x",
	} {
		got := FitStem(text)
		if got != want {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
		if err := CheckStem(got); err != nil {
			t.Error(err)
		}
	}
	for _, bad := range []string{"", ".a", "-a", "--force", "a b", "a/b", "a\nb"} {
		if CheckStem(bad) == nil {
			t.Errorf("%q may begin a file's name", bad)
		}
	}
}

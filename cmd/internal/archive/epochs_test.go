package archive

import (
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"calotte/cmd/internal/disk"
	"calotte/topo/erp"
	"calotte/topo/erp/epoch"
	"calotte/topo/erp/reject"
	"calotte/topo/erp/store"
)

// keptEpochs are three epochs of the sites and samples of [sample], which
// float32 holds exactly.
func keptEpochs() [][][]float64 {
	return [][][]float64{
		{{1, 2, 3}, {4, 5, 6}, {7, 8, 9}},
		{{-1, 0.5, 3}, {2, 2, 2}, {0, 0, 0.25}},
		{{0, 0, 1}, {4, 5, -6}, {1, 1, 1}},
	}
}

// saveKept writes an average with its epochs, as a run does.
func saveKept(t *testing.T, dir string, force bool, epochs [][][]float64) (table string, files *disk.Files) {
	t.Helper()
	a := sample()
	files = &disk.Files{Force: force}
	rows := []epoch.Row{
		{Source: "rec.edf", Onset: 1, Condition: "known", Response: math.NaN(), Reason: reject.PeakToPeak,
			Sites: []string{"Cz"}},
		{Source: "rec.edf", Onset: 2, Condition: "known", Response: 0.5, Kept: true},
		{Source: "rec.edf", Onset: 3, Condition: "known", Response: 0.4, Kept: true},
		{Source: "rec.edf", Onset: 4, Condition: "known", Response: 0.4, Reason: reject.OutsideData},
		{Source: "rec.edf", Onset: 5, Condition: "known", Response: math.NaN(), Kept: true},
		{Source: "rec.edf", Onset: 6, Condition: "known", Response: math.NaN(), Reason: reject.OutsideData},
	}
	k := NewKeeper(files, dir, a.Info.Name, []erp.Condition{{Name: a.Info.Condition}})
	defer files.Abandon()
	for _, e := range epochs {
		if err := k.Add(0, erp.Trial{}, e); err != nil {
			t.Fatal(err)
		}
	}
	kept, err := k.Close(0, rows)
	if err != nil {
		t.Fatal(err)
	}
	if table, err = Save(files, dir, a, kept...); err != nil {
		t.Fatal(err)
	}
	if err := files.Write(t.Context()); err != nil {
		t.Fatal(err)
	}
	return table, files
}

func TestLoadEpochs(t *testing.T) {
	table, _ := saveKept(t, filepath.Join(t.TempDir(), "new"), false, keptEpochs())
	e, read, err := LoadEpochs(table)
	if err != nil {
		t.Fatal(err)
	}
	if want := keptEpochs(); e.Len() != len(want) || len(e.Rows) != 6 {
		t.Fatalf("%d epochs, %d rows", e.Len(), len(e.Rows))
	}
	for k, want := range keptEpochs() {
		got, row := e.At(k)
		if row.Onset != []float64{2, 3, 5}[k] {
			t.Errorf("epoch %d: %+v", k, row)
		}
		for s := range want {
			if !slices.Equal(got[s], want[s]) {
				t.Errorf("epoch %d, site %d: %v, want %v", k, s, got[s], want[s])
			}
		}
	}
	if e.Window.First != -1 || e.Window.Len() != 3 || e.Window.Rate != 300 {
		t.Errorf("%+v", e.Window)
	}
	for _, suffix := range []string{store.EpochsSuffix, store.IndexSuffix, store.InfoSuffix, store.TableSuffix} {
		if !slices.ContainsFunc(read, func(p string) bool { return strings.HasSuffix(p, suffix) }) {
			t.Errorf("%s is not among %v", suffix, read)
		}
	}
	scores, err := e.Scores(2, 3)
	if err != nil {
		t.Fatal(err)
	}
	covariance, err := epoch.MeanCovariance(scores)
	if err != nil {
		t.Fatal(err)
	}
	// By hand, of T3 and T4 at the last sample: 3 3 1 and 6 2 −6.
	if got, want := covariance.At(0, 1), (2.0/3*16/3+2.0/3*4/3-4.0/3*-20/3)/6; math.Abs(got-want) > 1e-12 {
		t.Errorf("covariance %v, want %v", got, want)
	}
	for _, entry := range names(t, table) {
		if strings.HasPrefix(entry, ".") {
			t.Errorf("left behind: %s", entry)
		}
	}
}

func TestLoadEpochsThatAreNotThere(t *testing.T) {
	plain := save(t, sample())
	deleted, _ := saveKept(t, t.TempDir(), false, keptEpochs())
	if err := os.Remove(strings.TrimSuffix(deleted, store.TableSuffix) + store.EpochsSuffix); err != nil {
		t.Fatal(err)
	}
	for _, table := range []string{plain, deleted, filepath.Join(t.TempDir(), "own.tsv")} {
		if e, _, err := LoadEpochs(table); e != nil || err != nil {
			t.Errorf("%s: %v, %v", table, e, err)
		}
	}
}

// Epochs, index and average have to be of one run.
func TestLoadEpochsRefuses(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(t *testing.T, stem string)
		want   string
	}{
		{"changed array", func(t *testing.T, stem string) { flip(t, stem+store.EpochsSuffix) },
			"are not the epochs that sub-01_known_average.json describes"},
		{"changed index", func(t *testing.T, stem string) { flip(t, stem+store.IndexSuffix) },
			"_epochs.tsv has changed"},
		{"no index", func(t *testing.T, stem string) { os.Remove(stem + store.IndexSuffix) }, "_epochs.tsv"},
		{"changed average", func(t *testing.T, stem string) { flip(t, stem+store.TableSuffix) },
			"_average.tsv"},
		{"cut short", func(t *testing.T, stem string) { os.Truncate(stem+store.EpochsSuffix, 150) },
			"are not the epochs"},
	} {
		table, _ := saveKept(t, t.TempDir(), false, keptEpochs())
		c.change(t, strings.TrimSuffix(table, store.TableSuffix))
		_, _, err := LoadEpochs(table)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
}

// flip changes the last byte of a file that is not a line's end.
func flip(t *testing.T, path string) {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	b[len(b)-2] ^= 1
	if err := os.WriteFile(path, b, 0o666); err != nil {
		t.Fatal(err)
	}
}

// A second run into the folder that saves no epochs leaves none of the first,
// which would look as if they were its own.
func TestSaveDropsTheEpochsOfAnEarlierRun(t *testing.T) {
	dir := t.TempDir()
	table, _ := saveKept(t, dir, false, keptEpochs())
	again := disk.Files{Force: true}
	if _, err := Save(&again, dir, sample()); err != nil {
		t.Fatal(err)
	}
	if err := again.Write(t.Context()); err != nil {
		t.Fatal(err)
	}
	want := []string{"sub-01_known_average.json", "sub-01_known_average.tsv", "sub-01_known_pairs.tsv",
		"sub-01_known_sem.tsv"}
	if got := names(t, table); !slices.Equal(got, want) {
		t.Errorf("the folder holds %v, want %v", got, want)
	}
	fewer, _ := saveKept(t, dir, true, keptEpochs()[:3])
	if e, _, err := LoadEpochs(fewer); err != nil || e.Len() != 3 {
		t.Errorf("%v, %v", e, err)
	}
}

// What a run that fails has spooled is gone.
func TestKeeperDiscards(t *testing.T) {
	dir := t.TempDir()
	var files disk.Files
	k := NewKeeper(&files, dir, "sub-01", []erp.Condition{{Name: "known"}, {Name: "novel"}})
	if err := k.Add(0, erp.Trial{}, keptEpochs()[0]); err != nil {
		t.Fatal(err)
	}
	if err := k.Add(0, erp.Trial{}, keptEpochs()[0][:2]); err == nil {
		t.Error("an epoch of fewer sites was kept")
	}
	if _, err := k.Close(1, nil); err == nil {
		t.Error("a condition without epochs has a file")
	}
	files.Abandon()
	if entries, err := os.ReadDir(dir); err != nil || len(entries) > 0 {
		t.Errorf("left behind: %v, %v", entries, err)
	}
}

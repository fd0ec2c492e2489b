package store

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"calotte/topo/erp/average"
	"calotte/topo/erp/epoch"
	"calotte/topo/erp/reject"
	"calotte/topo/provenance"
	"calotte/topo/recording/epochs"
)

// known is an average with everything that one can have.
func known() *average.Average {
	return &average.Average{
		Info: average.Info{
			Kind: average.Participant, Name: "sub-01", Condition: "known", Epochs: &average.Counts{Kept: 2},
			Reference: "average of 3 sites", Baseline: "-200..0ms", Filters: "none", Rate: 250,
			Repaired: []string{"Cz"},
		},
		Sites: []string{"T3", "T4", "Cz"}, Times: []float64{-0.004, 0},
		Mean: [][]float64{{0.1, -2}, {4, 5e-7}, {7, 1. / 3}},
		SEM:  [][]float64{{1, 1}, {2, 2}, {3, 0.1}},
		Pairs: average.Pairs{Names: []string{"T4-T3"}, Mean: [][]float64{{3.9, 2}},
			SEM: [][]float64{{1.5, 0.3}}},
	}
}

// folder lays files into the folder group of a file system in memory.
func folder(t *testing.T, files Files) fstest.MapFS {
	t.Helper()
	fsys := fstest.MapFS{}
	for name, content := range files {
		fsys["group/"+name] = &fstest.MapFile{Data: content}
	}
	return fsys
}

func TestRoundTrip(t *testing.T) {
	for name, change := range map[string]func(a *average.Average){
		"whole":     func(*average.Average) {},
		"no errors": func(a *average.Average) { a.SEM, a.Pairs.SEM = nil, nil },
		"no pairs":  func(a *average.Average) { a.Sites[0], a.Pairs = "Fz", average.Pairs{} },
	} {
		want, files := known(), Files{}
		change(want)
		table, err := Save(files, want)
		if err != nil {
			t.Fatal(err)
		}
		got, err := Open(folder(t, files), "group/"+table)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		for _, f := range got.Info.Files {
			if f != provenance.SourceOf(f.Name, files[f.Name]) {
				t.Errorf("%s: the JSON lists %v", name, f)
			}
		}
		if len(got.Info.Files) != len(files)-1 {
			t.Errorf("%s: %d files, the JSON lists %v", name, len(files), got.Info.Files)
		}
		if got.Info.Files = nil; !reflect.DeepEqual(got, want) {
			t.Errorf("%s: %+v, want %+v", name, got, want)
		}
		if want.Info.Files != nil {
			t.Errorf("%s: Save changed the average", name)
		}
	}
}

// A sink that notes the order.
type noted struct {
	Files
	order []string
}

func (n *noted) Put(name string, content []byte) {
	n.Files.Put(name, content)
	n.order = append(n.order, name)
}

// The JSON comes last, and what an earlier average left is dropped.
func TestOrder(t *testing.T) {
	to := &noted{Files: Files{"sub-01_known_epochs.npy": nil, "sub-01_known_sem.tsv": nil,
		"sub-02_known_sem.tsv": nil}}
	a := known()
	a.SEM = nil
	if _, err := Save(to, a); err != nil {
		t.Fatal(err)
	}
	if last := to.order[len(to.order)-1]; last != "sub-01_known_average.json" {
		t.Errorf("%s comes last", last)
	}
	var left []string
	for name := range to.Files {
		left = append(left, name)
	}
	slices.Sort(left)
	if want := []string{"sub-01_known_average.json", "sub-01_known_average.tsv", "sub-01_known_pairs.tsv",
		"sub-02_known_sem.tsv"}; !slices.Equal(left, want) {
		t.Errorf("%v, want %v", left, want)
	}
	for _, name := range []string{"../sub-01", `a\b`, "/x"} {
		a.Info.Name = name
		if _, err := Save(Files{}, a); err == nil ||
			!strings.Contains(err.Error(), "cannot begin a file's name") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Errors name the file as it was asked for.
func TestErrors(t *testing.T) {
	files := Files{}
	if _, err := Save(files, known()); err != nil {
		t.Fatal(err)
	}
	fsys := folder(t, files)
	fsys["own.tsv"] = &fstest.MapFile{Data: []byte("time\tCz\n0\t1\nx\t2\n")}
	fsys["group/sub-01_known_pairs.tsv"].Data = []byte("time\tT4-T3\n")
	for name, want := range map[string]string{
		"group/sub-01_known_average.tsv": "group/sub-01_known_pairs.tsv has changed since it was " +
			"written: average " +
			"again, or rename sub-01_known_average.tsv to use it alone",
		"group/sub-01_known_sem.tsv": "group/sub-01_known_sem.tsv holds standard errors, not an average: give " +
			"the table beside it, sub-01_known_average.tsv",
		"group/sub-01_known_average.json": "group/sub-01_known_average.json describes an average: " +
			"give the table " +
			"beside it, sub-01_known_average.tsv",
		"own.tsv": `own.tsv: line 3, column "time": "x": expected a finite number`,
	} {
		_, err := Open(fsys, name)
		var at *Error
		if err == nil || err.Error() != want || !errors.As(err, &at) {
			t.Errorf("%s: %v, want %s", name, err, want)
		}
	}
	if _, err := Open(fsys, "other.tsv"); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("%v, want that there is no such file", err)
	}
	if _, err := OpenTable(fstest.MapFS{"own.csv": {Data: []byte("Cz\n1\n2\n")}}, "own.csv",
		average.Clock{Rate: 100}, Everything); err != nil {
		t.Error(err)
	}
}

// Means are read without the numbers of the other files, which must be there
// and unchanged all the same.
func TestMeansAlone(t *testing.T) {
	files := Files{}
	table, err := Save(files, known())
	if err != nil {
		t.Fatal(err)
	}
	fsys := folder(t, files)
	open := func(need Need) (*average.Average, error) {
		return OpenTable(fsys, "group/"+table, average.Clock{}, need)
	}
	want, err := open(Everything)
	if err != nil {
		t.Fatal(err)
	}
	want.SEM, want.Pairs = nil, average.Pairs{}
	if got, err := open(Means); err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("%v, %v, want %v", got, err, want)
	}
	for _, suffix := range []string{SEMSuffix, PairsSuffix} {
		name := "group/" + strings.TrimSuffix(table, TableSuffix) + suffix
		whole := fsys[name]
		for what, file := range map[string]*fstest.MapFile{
			"has changed": {Data: append(slices.Clone(whole.Data), '\n')}, "is missing": nil,
		} {
			if fsys[name] = file; file == nil {
				delete(fsys, name)
			}
			if _, err := open(Means); err == nil || !strings.Contains(err.Error(), suffix+" "+what) {
				t.Errorf("%s: %v, want that it %s", suffix, err, what)
			}
		}
		fsys[name] = whole
	}
}

// withEpochs are the files of an average and of its epochs.
func withEpochs(t *testing.T) (files Files, kept [][][]float64) {
	t.Helper()
	kept = [][][]float64{{{1, 2}, {3, 4}, {5, 6}}, {{-1, 0.5}, {2, 2}, {0, 0.25}}}
	var array, index bytes.Buffer
	w, err := epochs.NewWriter(&array, epochs.Shape{Epochs: 2, Sites: 3, Samples: 2})
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range kept {
		if err := w.Write(e); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	rows := []epoch.Row{{Source: "rec.edf", Onset: 1, Response: math.NaN(), Kept: true},
		{Source: "rec.edf", Onset: 2, Response: math.NaN(), Reason: reject.PeakToPeak},
		{Source: "rec.edf", Onset: 3, Response: .4, Kept: true}}
	if err := epoch.WriteIndex(&index, rows); err != nil {
		t.Fatal(err)
	}
	files = Files{"sub-01_known_epochs.npy": array.Bytes(), "sub-01_known_epochs.tsv": index.Bytes()}
	if _, err := Save(files, known(), provenance.SourceOf("sub-01_known_epochs.npy", array.Bytes()),
		provenance.SourceOf("sub-01_known_epochs.tsv", index.Bytes())); err != nil {
		t.Fatal(err)
	}
	return files, kept
}

func TestEpochs(t *testing.T) {
	files, want := withEpochs(t)
	if len(files) != 6 {
		t.Fatalf("%d files: the epochs were dropped", len(files))
	}
	fsys := folder(t, files)
	got, err := ReadEpochs(fsys, "group/sub-01_known_average.tsv")
	if err != nil {
		t.Fatal(err)
	}
	for k := range want {
		if e, row := got.At(k); !reflect.DeepEqual(e, want[k]) || row.Onset != []float64{1, 3}[k] {
			t.Errorf("epoch %d is %v, %v, want %v", k, e, row, want[k])
		}
	}
	e, err := OpenEpochs(fsys, "group/sub-01_known_epochs.npy")
	if err != nil || !e.Described || e.Name != "sub-01" || e.Set.Condition != "known" || len(e.Sources) != 2 {
		t.Fatalf("%+v, %v", e, err)
	}
	if err := e.Close(); err != nil {
		t.Error(err)
	}
	alone, err := OpenEpochs(fstest.MapFS{"sub-02_novel_epochs.npy": {Data: files["sub-01_known_epochs.npy"]}},
		"sub-02_novel_epochs.npy")
	if err != nil || alone.Described || alone.Name != "sub-02" || alone.Set.Condition != "novel" {
		t.Errorf("%+v, %v", alone, err)
	}
	fsys["group/sub-01_known_epochs.tsv"].Data[1]++
	if _, err := ReadEpochs(fsys, "group/sub-01_known_average.tsv"); err == nil ||
		err.Error() != "group/sub-01_known_epochs.npy: sub-01_known_epochs.tsv has changed since it "+
			"was written: "+
			"average again" {
		t.Error(err)
	}
	delete(fsys, "group/sub-01_known_epochs.npy")
	if e, err := ReadEpochs(fsys, "group/sub-01_known_average.tsv"); e != nil || err != nil {
		t.Errorf("%v, %v, want none", e, err)
	}
}

// oneWay is a file system whose files can be read once.
type oneWay struct{ fs.FS }

func (o oneWay) Open(name string) (fs.File, error) {
	file, err := o.FS.Open(name)
	return struct{ fs.File }{file}, err
}

func TestEpochsThatCannotBeReadAgain(t *testing.T) {
	files, _ := withEpochs(t)
	_, err := OpenEpochs(oneWay{folder(t, files)}, "group/sub-01_known_epochs.npy")
	if want := "group/sub-01_known_epochs.npy: it cannot be read from its start again"; err == nil ||
		!strings.HasPrefix(fmt.Sprint(err), want) {
		t.Errorf("%v, want %s", err, want)
	}
}

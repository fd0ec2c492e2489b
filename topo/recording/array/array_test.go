package array

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"calotte/topo/recording"
)

const corpus = "../../../testdata/corpus"

func read(t testing.TB, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(corpus, "arrays", name))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// open opens a file of bytes, a table where it is neither NumPy nor MATLAB.
func open(b []byte, variable string) (*Array, error) {
	if !Recognize(b[:min(len(b), level5Header)]) && bytes.IndexByte(b, 0) < 0 {
		return OpenText(bytes.NewReader(b))
	}
	return Open(bytes.NewReader(b), int64(len(b)), variable)
}

var sites = []string{"Fz", "C3", "Cz", "C4", "Pz", "Oz"}

// samples reads all of a recording in blocks.
func samples(t *testing.T, r *recording.Recording, signals []int) [][]float64 {
	t.Helper()
	rows := make([][]float64, len(signals))
	for b, err := range r.Blocks(signals) {
		if err != nil {
			t.Fatal(err)
		}
		for i, row := range b.Samples {
			rows[i] = append(rows[i], row...)
		}
	}
	return rows
}

// Each array holds the samples of the EDF file from which it was made.
func TestSameAsEDF(t *testing.T) {
	b, err := os.ReadFile(filepath.Join(corpus, "study/data/sub-01/eeg/sub-01_task-x_eeg.edf"))
	if err != nil {
		t.Fatal(err)
	}
	edf, err := recording.Open(bytes.NewReader(b), int64(len(b)), recording.Options{})
	if err != nil {
		t.Fatal(err)
	}
	some := []int{4, 0, 5} // neither all nor in order
	want := samples(t, edf, some)
	for _, c := range []struct {
		file, variable, unit string
		sites                []string
	}{
		{"whole.npy", "", "uV", sites},
		{"columns.npy", "", "nV", sites},
		{"swapped.npy", "", "nV", sites},
		{"plain.mat", "", "nV", sites},
		{"plain.mat", "data", "nV", sites},
		{"packed.mat", "recorded", "uV", sites},
		{"big.mat", "", "nV", sites},
		{"named.csv", "", "uV", nil},
		{"bare.tsv", "", "uV", sites},
	} {
		a, err := open(read(t, c.file), c.variable)
		if err != nil {
			t.Errorf("%s: %v", c.file, err)
			continue
		}
		r, err := a.Recording(Description{Rate: 100, Unit: c.unit, Sites: c.sites})
		if err != nil {
			t.Errorf("%s: %v", c.file, err)
			continue
		}
		if c.file == "columns.npy" && r.Notes[0] != "the array (800 × 6) is taken as samples × sites" ||
			c.file == "plain.mat" && r.Notes[0] != "variable data (6 × 800) is taken as sites × samples" {
			t.Errorf("%s: notes %q", c.file, r.Notes)
		}
		gain, _ := recording.Microvolts(c.unit)
		for i, row := range samples(t, r, some) {
			if len(row) != len(want[i]) {
				t.Fatalf("%s: %d samples, want %d", c.file, len(row), len(want[i]))
			}
			for n, x := range row {
				if d := x*gain - want[i][n]; d > 1e-9 || d < -1e-9 {
					t.Fatalf("%s: site %d, sample %d: %g µV, want %g", c.file, some[i], n, x*gain,
						want[i][n])
				}
			}
		}
	}
}

// What is no recording is refused by what it is.
func TestRefused(t *testing.T) {
	for file, want := range map[string]string{
		"cells.mat":      "variable data: this is a cell array: expected real numbers",
		"struct.mat":     "variable data: this is a structure: expected real numbers",
		"complex.mat":    "variable data: its numbers are complex: expected real numbers",
		"sparse.mat":     "variable data: this is a sparse matrix",
		"letters.mat":    "variable data: this is text",
		"two.mat":        "2 variables could be the recording: name one of one (6 × 9), two (6 × 9)",
		"bomb.mat":       "more than 50 fold, which no recording does",
		"object.npy":     `values of type "|O": expected real numbers`,
		"hdf5.mat":       "neither a NumPy nor a MATLAB file",
		"structured.npy": "expected",
	} {
		if _, err := open(read(t, file), ""); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", file, err, want)
		}
	}
	const want = `there is no variable "eeg": the file holds data (6 × 800), srate (1 × 1), subject (text), info (a structure)`
	if _, err := open(read(t, "plain.mat"), "eeg"); err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
	if _, err := open(read(t, "whole.npy"), "data"); err == nil {
		t.Error("a NumPy file has no named variables")
	}
}

func TestForeign(t *testing.T) {
	for want, start := range map[string]string{
		"a MATLAB 7.3 file, which is HDF5: save it with -v7": string(read(t, "hdf5.mat")),
		"an HDF5 file":         "\x89HDF\r\n\x1a\n",
		"several NumPy arrays": "PK\x03\x04............data.npy",
		"":                     "anything else",
	} {
		if got := Foreign([]byte(start)); !strings.HasPrefix(got, want) || (want == "") != (got == "") {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// changed is a file with bytes put over its own.
func changed(b []byte, at int, with string) []byte {
	b = bytes.Clone(b)
	copy(b[at:], with)
	return b
}

// Sizes that lie are refused before anything is made of them.
func TestLyingSizes(t *testing.T) {
	plain := read(t, "plain.mat")
	dims := bytes.Index(plain, []byte("\x06\x00\x00\x00\x20\x03\x00\x00")) // 6 × 800
	if dims < 0 {
		t.Fatal("the sizes were not found")
	}
	for name, c := range map[string]struct {
		b    []byte
		want string
	}{
		"more samples":     {changed(plain, dims+4, "\x21"), "expected 9612"},
		"2³¹ sites":        {changed(plain, dims, "\xff\xff\xff\x7f\xff\xff\xff\x7f"), "its sizes are"},
		"negative":         {changed(plain, dims, "\xff\xff\xff\xff"), "its sizes are"},
		"no sites":         {changed(plain, dims, "\x00"), "its sizes are"},
		"a longer matrix":  {changed(plain, 132, "\xff\xff\xff\x7f"), "cut short"},
		"a shorter matrix": {changed(plain, 132, "\x10\x00\x00\x00"), "longer than the whole"},
		"another element":  {changed(plain, 128, "\x63"), "element of type 99"},
		"cut": {plain[:3000],
			"variable 1: it says 9648 bytes, and the file has 2864 more: it is cut short"},
		"cut in a tag":   {plain[:132], "within the tag"},
		"a header alone": {plain[:128], "there is no variable"},
		"broken stream": {changed(read(t, "packed.mat"), 140, "\xff\xff\xff\xff\xff\xff"),
			"the file is damaged"},
	} {
		if _, err := open(c.b, ""); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
	}
	_, err := open(changed(plain, dims+4, "\x21"), "data")
	if err == nil || !strings.Contains(err.Error(),
		"its sizes are 6 × 801, and it holds 9600 bytes of numbers: expected 9612") {
		t.Error(err)
	}
}

// A sum that does not fit the unpacked bytes is damage, wherever it lies.
func TestChecksum(t *testing.T) {
	packed := read(t, "packed.mat")
	last := len(packed) - 1
	if _, err := open(changed(packed, last, string(packed[last]^1)), "recorded"); err == nil {
		t.Error("the last byte of the sum was changed: expected an error")
	}
}

// A stream that goes on behind the numbers is damage, too.
func TestStreamGoesOn(t *testing.T) {
	plain := read(t, "epochs.mat")
	var b bytes.Buffer
	w := zlib.NewWriter(&b)
	w.Write(plain[128:])
	w.Write(make([]byte, 16))
	w.Close()
	file := binary.LittleEndian.AppendUint32(bytes.Clone(plain[:128]), elementCompressed)
	file = append(binary.LittleEndian.AppendUint32(file, uint32(b.Len())), b.Bytes()...)
	const want = "variable data: more follows its numbers than its sizes say: the file is damaged"
	if _, err := open(file, ""); err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
}

func TestNotFinite(t *testing.T) {
	b := read(t, "whole.npy")
	at := len(b) - 8*800*5 + 8*299 // site 2, sample 300
	a, err := open(changed(b, at, "\x00\x00\x00\x00\x00\x00\xf8\x7f"), "")
	if err != nil {
		t.Fatal(err)
	}
	r, err := a.Recording(Description{Rate: 100, Unit: "uV", Sites: sites})
	if err != nil {
		t.Fatal(err)
	}
	for _, err = range r.Blocks([]int{0, 1}) {
	}
	if want := "site C3, sample 300 (counted from 1, at 2.99 s): NaN; expected a finite number"; err == nil ||
		err.Error() != want {
		t.Errorf("%v, want %s", err, want)
	}
	for _, err = range r.Blocks([]int{0, 2}) {
	}
	if err != nil {
		t.Error(err)
	}
}

package average

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
	"testing/iotest"

	"pgregory.net/rapid"

	"calotte/layout"
	"calotte/layout/hostile"
	"calotte/layout/rowtable"
	"calotte/topo/erp/epoch"
	"calotte/topo/erp/internal/matrix"
	"calotte/topo/internal/erptest"
)

// manySites are the names of so many sites, each behind a tab.
func manySites(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "\tE%d", i)
	}
	return b.String()
}

func TestReadTable(t *testing.T) {
	want := "Fz Cz | 0 0.004 0.008 | 1 2 3 | -4 0.5 6"
	for name, text := range map[string]string{
		"tabs":               "time\tFz\tCz\n0\t1\t-4\n0.004\t2\t.5\n0.008\t3\t6\n",
		"no last line end":   "time\tFz\tCz\n0\t1\t-4\n0.004\t2\t.5\n0.008\t3\t6",
		"empty lines behind": "time\tFz\tCz\n0\t1\t-4\n0.004\t2\t.5\n0.008\t3\t6\n\n \t\n",
		"commas":             "time,Fz,Cz\n0,1,-4\n0.004,2,.5\n0.008,3,6\n",
		"blanks":             "time, Fz, Cz\n 0, 1, -4\n0.004 , 2, .5\n0.008,3,6 \n",
		"quotes":             "\"time\",\"Fz\",\"Cz\"\n\"0\",1,-4\n0.004,2,.5\n0.008,\"3\",6\n",
		"CR LF":              "time\tFz\tCz\r\n0\t1\t-4\r\n0.004\t2\t.5\r\n0.008\t3\t6\r\n",
		"byte-order mark":    "\uFEFFtime\tFz\tCz\n0\t1\t-4\n0.004\t2\t.5\n0.008\t3\t6\n",
		"milliseconds":       "time_ms\tFz\tCz\n0\t1\t-4\n4\t2\t.5\n8\t3\t6\n",
		"capitals":           "TIME\tFz\tCz\n0\t1\t-4\n0.004\t2\t.5\n0.008\t3\t6\n",
		"time last":          "Fz\tCz\ttime\n1\t-4\t0\n2\t.5\t0.004\n3\t6\t0.008\n",
		"time between":       "Fz,Time_MS,Cz\n1,0,-4\n2,4,.5\n3,8,6\n",
		"exponents":          "time\tFz\tCz\n0\t1e0\t-4\n4e-3\t+2\t5E-1\n8e-3\t3\t6\n",
	} {
		read, err := ReadTable(strings.NewReader(text), Clock{})
		if got := flatten(read); err != nil || got != want {
			t.Errorf("%s: %q, %v, want %q", name, got, err, want)
		}
		read, err = ReadTable(iotest.OneByteReader(strings.NewReader(text)), Clock{})
		if got := flatten(read); err != nil || got != want {
			t.Errorf("%s, byte by byte: %q, %v", name, got, err)
		}
	}
	// Times of 300 Hz, rounded to a tenth of a millisecond: uneven by 2 %.
	if read, err := ReadTable(strings.NewReader("time_ms\tCz\n0\t1\n3.3\t1\n6.7\t1\n10\t1\n"),
		Clock{}); err != nil ||
		read.Times[2] != 0.0067 {
		t.Errorf("rounded times: %v, %v", read, err)
	}
}

// flatten shows a table in one line.
func flatten(of *Waveforms) string {
	if of == nil {
		return ""
	}
	show := func(row []float64) string {
		var b bytes.Buffer
		for _, x := range row {
			b.WriteString(" ")
			b.WriteString(strconv.FormatFloat(x, 'g', -1, 64))
		}
		return b.String()
	}
	text := strings.Join(of.Sites, " ") + " |" + show(of.Times)
	for _, row := range of.Values {
		text += " |" + show(row)
	}
	return text
}

func TestReadTableWithoutTimes(t *testing.T) {
	read, err := ReadTable(strings.NewReader("Fz\tCz\n1\t2\n3\t4\n5\t6\n"), Clock{Rate: 250, First: -0.1})
	if got, want := flatten(read), "Fz Cz | -0.1 -0.096 -0.092 | 1 3 5 | 2 4 6"; err != nil || got != want {
		t.Errorf("%q, %v, want %q", got, err, want)
	}
	// One column has no separator at all.
	if read, err := ReadTable(strings.NewReader("Cz\n1\n2\n"),
		Clock{Rate: 100}); err != nil || read.Sites[0] != "Cz" ||
		read.Values[0][1] != 2 {
		t.Errorf("one site: %v, %v", read, err)
	}
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []Clock{{Rate: -1}, {Rate: nan}, {Rate: inf}, {Rate: 100, First: nan},
		{Rate: 100, First: inf},
		{First: 1}} {
		_, err := ReadTable(strings.NewReader("Cz\n1\n2\n"), c)
		erptest.WantError(t, err, "expected a positive sampling rate")
	}
}

func TestReadTableRefuses(t *testing.T) {
	rows := func(header string, times ...string) string {
		return header + "\n" + strings.Join(times, "\t1\n") + "\t1\n"
	}
	for _, c := range []struct{ name, text, want string }{
		{"empty", "", "line 1: empty: expected a header of column names such as time, Fz, Cz"},
		{"byte-order mark alone", "\uFEFF", "line 1: empty"},
		{"blank header", " \n0\t1\n", "line 1: empty"},
		{"no header", "0\t1\n0.1\t2\n", "line 1: no time column"},
		{"header alone", "time\tCz\n", "0 samples: expected two or more lines below the header"},
		{"one row", "time\tCz\n0\t1\n", "1 sample: expected two or more lines"},
		{"no site", "time\n0\n0.1\n", `line 1: no site in "time": expected tabs or commas`},
		{"blanks between", "time Cz\n0 1\n", "line 1: no time column"},
		{"a name missing", "time\t\tCz\n", `line 1: column 2 has the name "": expected a site's name`},
		{"old line ends", "time\tCz\r0\t1\r4\t1\r", `column 2 has the name "Cz·0"`},
		{"two time columns", "time\ttime_ms\tCz\n", `line 1, column "time_ms": a second time column: keep one`},
		{"a site twice", "time\tT3\tCz\tT7\n",
			`line 1, column "T7": the site is there twice (T3, T7): keep one of the two columns`},
		{"a name twice", "time\tE1\tE1\n", "the site is there twice (E1, E1)"},
		{"more sites than a cap has", "time" + manySites(layout.MostSites+1) + "\n",
			"line 1: 2001 sites: expected at most 2000"},
		{"Latin 1", "time\tm\xe4ander\n", "line 1: the header is not UTF-8 text: save the table as UTF-8"},
		{"UTF-16", "\xff\xfet\x00i\x00m\x00e\x00", "the header is not UTF-8 text"},
		{"semicolons", "time;Fz;Cz\n0,1;2,5;3\n",
			"line 1: semicolons between columns: save the table with tabs, or with commas, and decimals " +
				"with a point"},
		{"decimal commas", "time\tCz\n0\t1,5\n",
			`line 2, column "Cz": "1,5": expected a number, decimals with a point`},
		{"decimal commas in CSV", "time,Cz\n0,0,1,5\n", "line 2: 4 columns: expected 2 as in the header"},
		{"NaN", "time\tCz\n0\t1\n0.004\tNaN\n", `line 3, column "Cz": "NaN": expected a finite number`},
		{"Inf", "time\tCz\n0\t-Inf\n", `line 2, column "Cz": "-Inf": expected a finite number`},
		{"too large", "time\tCz\n0\t1e999\n", `"1e999": expected a finite number`},
		{"hexadecimal", "time\tCz\n0\t0x1p4\n", `"0x1p4": expected a finite number`},
		{"underscore", "time\tCz\n0\t1_0\n", `"1_0": expected a finite number`},
		{"n/a", "time\tFz\tCz\n0\tn/a\t1\n", `line 2, column "Fz": "n/a": expected a finite number`},
		{"empty entry", "time\tFz\tCz\n0\t\t1\n", `line 2, column "Fz": "": expected a finite number`},
		{"bad time", "Cz\ttime\n1\tx\n", `line 2, column "time": "x": expected a finite number`},
		{"ragged", "time\tCz\n0\t1\n0.004\n", "line 3: 1 column: expected 2 as in the header"},
		{"ragged the other way", "time\tCz\n0\t1\t2\n", "line 2: 3 columns: expected 2"},
		{"a gap", "time\tCz\n0\t1\n\n\n0.004\t1\n", "line 3: an empty line between others: remove it"},
		{"standing", rows("time\tCz", "0", "0.004", "0.004", "0.012"),
			`line 4, column "time": time runs backwards or stands still (0.004 after 0.004 s): expected increasing times`},
		{"backwards", rows("time\tCz", "0.008", "0.004", "0"),
			`line 3, column "time": time runs backwards or stands still (0.004 after 0.008 s)`},
		{"backwards in ms", rows("time_ms\tCz", "8", "4", "0"),
			`line 3, column "time_ms": time runs backwards`},
		{"uneven", rows("time\tCz", "0", "0.004", "0.008", "0.013", "0.017"),
			`line 5, column "time": a step of 0.005 s where 0.004 s is usual: expected evenly spaced times`},
		{"a little uneven", rows("time\tCz", "0", "0.004", "0.0083", "0.0123"),
			"a step of 0.0043 s where 0.004 s is usual"},
		{"a row missing", rows("time\tCz", "0", "0.004", "0.008", "0.016"),
			"line 5, column \"time\": a step of 0.008 s where 0.004 s is usual"},
		{"ms labelled s", rows("time\tCz", "-200", "-196", "-192"),
			`column "time": a step of 4 s, which looks like milliseconds: name the column time_ms, or give seconds`},
		{"s labelled ms", rows("time_ms\tCz", "-0.2", "-0.196", "-0.192"),
			`column "time_ms": a step of 0.004 ms, which looks like seconds: name the column time, or give milliseconds`},
		{"hours labelled ms", rows("time_ms\tCz", "0", "1e6", "2e6"),
			"a step of 1000 s: expected a sampling rate between 10 Hz and 100 kHz"},
		{"far apart", rows("time\tCz", "-1e308", "1e308", "1.5e308"), "expected evenly spaced times"},
		{"a huge line", "time\tCz\n0\t1\n" + strings.Repeat("1", 2<<20),
			"line 3: more than a megabyte in one line: expected a line a sample"},
		{"a huge header", strings.Repeat("x", 2<<20), "line 1: more than a megabyte in one line"},
		{"a long name", "time\t" + strings.Repeat("x", 200) + "\n0\t?\n",
			"xxx…\": \"?\": expected a finite number"},
	} {
		_, err := ReadTable(strings.NewReader(c.text), Clock{})
		if _, ok := errors.AsType[*rowtable.Error](err); !ok {
			t.Errorf("%s: %T", c.name, err)
		}
		erptest.WantError(t, err, c.want)
	}
	_, err := ReadTable(strings.NewReader("time\tCz\n0\t1\n"), Clock{Rate: 100})
	erptest.WantError(t, err, "line 1: a time column and a given sampling rate: leave one of the two out")
	if _, err := ReadTable(iotest.ErrReader(erptest.ErrRead), Clock{}); !errors.Is(err, erptest.ErrRead) {
		t.Errorf("%v, want %v", err, erptest.ErrRead)
	}
}

func TestCheckMicrovolts(t *testing.T) {
	for _, good := range [][]float64{{0, 0}, {1e-3}, {-1e5, 3}, {12, -1e-9}} {
		if err := CheckMicrovolts([][]float64{{0}, good}); err != nil {
			t.Errorf("%v: %v", good, err)
		}
	}
	erptest.WantError(t, CheckMicrovolts([][]float64{{1e-6, -5e-6}, {0, 2e-6}}),
		"the largest amplitude is 5e-06, which looks like volts: give µV (volts times 1,000,000)")
	erptest.WantError(t, CheckMicrovolts([][]float64{{1}, {-2e5}}),
		"the largest amplitude is 2e+05 µV, more than any scalp potential: give µV")
}

// finite draws numbers of all sizes, with all their digits.
func finite() *rapid.Generator[float64] {
	return rapid.Custom(func(t *rapid.T) float64 {
		for {
			x := math.Float64frombits(rapid.Uint64().Draw(t, "bits"))
			if !math.IsNaN(x) && !math.IsInf(x, 0) {
				return x
			}
		}
	})
}

// What is written reads back to the same bits.
func TestTableRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sites := rapid.SliceOfNDistinct(rapid.SampledFrom(strings.Fields("Fz Cz Pz T3 T8 E001 E002 C4-C3")), 1,
			6,
			rapid.ID).Draw(t, "sites")
		rate := rapid.Float64Range(50, 5000).Draw(t, "rate")
		first := rapid.IntRange(-500, 500).Draw(t, "first")
		w := epoch.Window{First: first, Last: first + rapid.IntRange(1, 20).Draw(t, "more"), Rate: rate}
		want := Waveforms{sites, w.Times(), matrix.New(len(sites), w.Len())}
		for _, row := range want.Values {
			for j := range row {
				row[j] = finite().Draw(t, "value")
			}
		}
		var file, again bytes.Buffer
		if err := WriteTable(&file, want); err != nil {
			t.Fatal(err)
		}
		got, err := ReadTable(bytes.NewReader(file.Bytes()), Clock{})
		if err != nil {
			t.Fatal(err)
		}
		sameBits := func(a, b []float64) bool {
			return slices.EqualFunc(a, b,
				func(x, y float64) bool { return math.Float64bits(x) == math.Float64bits(y) })
		}
		if !slices.Equal(got.Sites, sites) || !sameBits(got.Times, want.Times) ||
			!slices.EqualFunc(got.Values, want.Values, sameBits) {
			t.Fatalf("%v, want %v", got, want)
		}
		if err := WriteTable(&again, *got); err != nil || !bytes.Equal(again.Bytes(), file.Bytes()) {
			t.Fatal("the table written again is another")
		}
	})
}

func TestWriteTableRefuses(t *testing.T) {
	for _, site := range []string{"C\tz", "Cz\n", "C\rz"} {
		err := WriteTable(&bytes.Buffer{}, Waveforms{[]string{"Fz", site}, []float64{0, 1}, matrix.New(2, 2)})
		erptest.WantError(t, err, "holds a tab or a line break")
	}
	if err := WriteTable(brokenWriter{},
		Waveforms{[]string{"Cz"}, []float64{0, 1}, matrix.New(1, 2)}); !errors.Is(err,
		erptest.ErrRead) {
		t.Errorf("%v, want the writer's error", err)
	}
}

type brokenWriter struct{}

func (brokenWriter) Write([]byte) (int, error) { return 0, erptest.ErrRead }

func FuzzReadTable(f *testing.F) {
	for _, text := range []string{
		"time\tFz\tCz\n0\t1\t2\n0.004\t3\t4\n", "time_ms,Fz\n0,1\n4,2\n", "Fz\tCz\n1\t2\n3\t4\n",
		"\uFEFF\"time\"\t\"T3\"\r\n0\t\"1\"\r\n1e-2\t-0\r\n\r\n", "time;Cz\n", "time\tT3\tT7\n", "\xff", "",
	} {
		f.Add([]byte(text), 0.0)
		f.Add([]byte(text), 250.0)
	}
	for _, text := range hostile.Seeds(f, os.DirFS("../../../testdata/corpus"), "averages/*.tsv", "averages/*.csv",
		"averages/*.txt") {
		f.Add(text, 0.0)
	}
	f.Fuzz(func(t *testing.T, text []byte, rate float64) {
		defer hostile.Budget(t, len(text))()
		read, err := ReadTable(bytes.NewReader(text), Clock{Rate: rate})
		if err != nil {
			if strings.Contains(err.Error(), "\n") || len(err.Error()) > 500 {
				t.Errorf("not a short line: %q", err)
			}
			return
		}
		sites, times, values := read.Sites, read.Times, read.Values
		if len(sites) == 0 || len(values) != len(sites) || len(times) < 2 {
			t.Fatalf("%d sites, %d rows, %d times", len(sites), len(values), len(times))
		}
		for i, row := range values {
			if len(row) != len(times) {
				t.Fatalf("site %d has %d values at %d times", i, len(row), len(times))
			}
			for _, x := range row {
				if math.IsNaN(x) || math.IsInf(x, 0) {
					t.Fatalf("value %v", x)
				}
			}
		}
		for i := 1; i < len(times); i++ {
			if !(times[i] > times[i-1]) && rate == 0 {
				t.Fatalf("time %v after %v", times[i], times[i-1])
			}
		}
		if rate != 0 {
			return // a clock may be as slow or as fast as its user says
		}
		var b bytes.Buffer
		if err := WriteTable(&b, *read); err != nil {
			t.Fatal(err)
		}
		if again, err := ReadTable(&b, Clock{}); err != nil ||
			!slices.EqualFunc(again.Values, values, slices.Equal[[]float64]) {
			t.Fatalf("reads back as %v, %v, want %v", again, err, values)
		}
	})
}

// A line that is read where it stands is one that its fields, read one by one,
// give as well.
func TestReadPlain(t *testing.T) {
	plain := func(line, separator string) (row []float64, ok bool) {
		r := tableReader{row: make([]float64, 3), columns: []string{"a", "b", "c"}, separator: separator}
		ok = r.readPlain([]byte(line))
		return r.row, ok
	}
	for line, want := range map[string]bool{
		"0\t-1.5\t2": true, "0\t-1.5\t2\t": false, "0\t-1.5": false, "0\t-1.5\t": false, "0\t-1.5\t2\t3": false,
		"0\t-1.5\t2 ": false, "0\t1e5\t2": false, "0,1,2": false, "\t1\t2": false, "0\t\"1\"\t2": false,
	} {
		if _, ok := plain(line, "\t"); ok != want {
			t.Errorf("%q: %v, want %v", line, ok, want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		separator := rapid.SampledFrom([]string{"\t", ","}).Draw(t, "separator")
		fields := rapid.SliceOfN(rapid.StringMatching(`[-+]?[0-9]{0,3}[.]?[0-9]{0,18}([\t, "e]?)`), 2, 4).Draw(t, "fields")
		line := strings.Join(fields, separator)
		row, ok := plain(line, separator)
		if !ok {
			return
		}
		r := tableReader{row: make([]float64, 3), columns: []string{"a", "b", "c"}, separator: separator}
		if err := r.readRow(line); err != nil || !slices.Equal(r.row, row) {
			t.Fatalf("%q: %v, field by field %v, %v", line, row, r.row, err)
		}
	})
}

// A person's average as the program writes it: 64 sites, 401 samples.
func BenchmarkReadTable(b *testing.B) {
	of := Waveforms{Values: matrix.New(64, 401)}
	random := rand.New(rand.NewPCG(1, 1))
	for i, row := range of.Values {
		of.Sites = append(of.Sites, fmt.Sprintf("E%d", i))
		for j := range row {
			row[j] = 3 * random.NormFloat64()
		}
	}
	for j := range of.Values[0] {
		of.Times = append(of.Times, float64(j-100)/500)
	}
	var text bytes.Buffer
	if err := WriteTable(&text, of); err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(text.Len()))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := ReadTable(bytes.NewReader(text.Bytes()), Clock{}); err != nil {
			b.Fatal(err)
		}
	}
}

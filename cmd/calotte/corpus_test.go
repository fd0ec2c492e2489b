//go:build linux

package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode"

	"calotte/layout/rowtable"
)

// corpusFolder holds files that are hostile or odd, the table of what the
// program must make of each, and the scripts that made what no editor can
// write.
const corpusFolder = "../../testdata/corpus"

// A corpusCase is a row of corpus.tsv.
type corpusCase struct {
	name    string
	files   []placed
	args    []string // HERE is the folder in which the program runs
	code    int
	says    []string // in the error's line; of what goes well, anywhere in what is printed
	numbers []placed // files that come out, or stdout, and the numbers that they must hold
}

// A placed file of the corpus lies at a path of the folder in which the program
// runs.
type placed struct{ place, source string }

// TestCorpus runs the program on every file of the corpus. It is built from
// this source, or named by CALOTTE_CORPUS_PROGRAM, where an emulator may stand
// before it:
//
//	CALOTTE_CORPUS_PROGRAM="qemu-aarch64 /tmp/calotte-arm64" go test ./cmd/calotte -run TestCorpus
//
// Beside what its row says, every case must keep to what holds for all; see
// holds. Cases of large files are left out where an emulator stands before the
// program.
func TestCorpus(t *testing.T) {
	program := strings.Fields(os.Getenv("CALOTTE_CORPUS_PROGRAM"))
	if len(program) == 0 {
		program = []string{builtProgram(t)}
	}
	made := readMade(t)
	for _, c := range readCorpus(t) {
		t.Run(strings.ReplaceAll(c.name, " ", "_"), func(t *testing.T) {
			t.Parallel()
			r := corpusRun{corpusCase: c, dir: t.TempDir()}
			for _, f := range c.files {
				if err := made.put(filepath.Join(r.dir, f.place), f.source); err != nil {
					t.Fatalf("%s: %v", f.source, err)
				}
			}
			if size := age(t, r.dir); len(program) > 1 && size > largeForEmulator {
				t.Skipf("%d kB in all are a matter of bounds, which an emulator has not", size>>10)
			}
			r.run(t, program)
			for _, fault := range r.holds(t) {
				t.Error(fault)
			}
		})
	}
}

// largeForEmulator is how many bytes of files make a case one of time and
// memory.
const largeForEmulator = 150 << 10

// readCorpus reads the table of cases.
func readCorpus(t *testing.T) []corpusCase {
	t.Helper()
	file, err := os.Open(filepath.Join(corpusFolder, "corpus.tsv"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	table, err := rowtable.Read(file, "case", "files", "command", "exit", "says", "numbers")
	if err != nil {
		t.Fatal(err)
	}
	var cases []corpusCase
	for _, row := range table.Rows {
		code, err := row.Number("exit", "an exit code", false)
		if err != nil {
			t.Fatal(err)
		}
		c := corpusCase{name: row.Text("case"), args: strings.Fields(row.Text("command")), code: int(code)}
		if says := row.Text("says"); says != "" {
			c.says = strings.Split(says, " | ")
		}
		c.files, c.numbers = placing(row.Text("files")), placing(row.Text("numbers"))
		if c.says == nil && c.numbers == nil {
			t.Fatalf("%s: nothing is asked of it", c.name)
		}
		cases = append(cases, c)
	}
	return cases
}

// placing parts "PLACE=SOURCE SOURCE"; a file without a place keeps its name.
func placing(text string) []placed {
	var all []placed
	for _, field := range strings.Fields(text) {
		place, source, named := strings.Cut(field, "=")
		if !named {
			place, source = filepath.Base(field), field
		}
		all = append(all, placed{place, source})
	}
	return all
}

// bounds are those of one case.
type bounds struct {
	processor, waiting time.Duration // of all processors together, and by the clock: a fault may hang
	data               int           // bytes that the system gives: 200 MB and what Go sets aside
}

// boundsOf are wider where another processor is emulated, which takes memory of
// its own.
func boundsOf(program []string) bounds {
	if len(program) > 1 {
		return bounds{20 * time.Second, 2 * time.Minute, 1 << 30}
	}
	return bounds{2 * time.Second, 30 * time.Second, 320 << 20}
}

// A corpusRun is a case that the program has worked on in a folder of its own.
type corpusRun struct {
	corpusCase
	bounds
	dir            string
	before         map[string]string // what every file held
	stdout, stderr bytes.Buffer
	err            error
	stopped        bool // by the clock
}

// run gives the program no more time and memory than a case may take. The
// system ends it at the bound, so that no fault of it can take the machine.
func (r *corpusRun) run(t *testing.T, program []string) {
	t.Helper()
	for _, dir := range []string{"home", "tmp"} {
		if err := os.MkdirAll(filepath.Join(r.dir, dir), 0o777); err != nil {
			t.Fatal(err)
		}
	}
	r.before = snapshot(t, r.dir)
	r.bounds = boundsOf(program)
	limited := fmt.Sprintf(`ulimit -t %.0f; ulimit -d %d; exec "$@"`, r.processor.Seconds(), r.data>>10)
	ctx, stop := context.WithTimeout(t.Context(), r.waiting)
	defer stop()
	args := slices.Clone(r.args)
	for i := range args {
		args[i] = strings.ReplaceAll(args[i], "HERE", r.dir)
	}
	c := exec.CommandContext(ctx, "sh", slices.Concat([]string{"-c", limited, "sh"}, program, args)...)
	c.Dir, c.Stdout, c.Stderr = r.dir, &r.stdout, &r.stderr
	c.WaitDelay = time.Second
	// Two processors: threads take memory, and there are as many as the
	// machine has.
	c.Env = []string{"HOME=" + filepath.Join(r.dir, "home"), "TMPDIR=" + filepath.Join(r.dir, "tmp"),
		"PATH=" + os.Getenv("PATH"), "GOMAXPROCS=2"}
	r.err = c.Run()
	r.stopped = ctx.Err() != nil
	if took := c.ProcessState.UserTime() + c.ProcessState.SystemTime(); took > r.processor/2 {
		t.Logf("%v of processor time, of %v", took, r.processor)
	}
}

// holds lists what is not as it must be: what the row says, and what is asked
// of every case. The program ends by itself within its bounds; an error is one
// line without control characters; no file that was there is changed, results
// of a study apart; what fails leaves no other files, hidden ones are never
// left; and nothing that is printed or written gives away the patient or the
// place.
func (r *corpusRun) holds(t *testing.T) (faults []string) {
	t.Helper()
	fault := func(format string, args ...any) { faults = append(faults, fmt.Sprintf(format, args...)) }
	var exit *exec.ExitError
	code := 0
	switch {
	case r.stopped:
		fault("it did not end within %v", r.waiting)
	case errors.As(r.err, &exit) && exit.ExitCode() < 0:
		fault("%v: more than %v of processor time?", exit, r.processor)
	case errors.As(r.err, &exit):
		code = exit.ExitCode()
	case r.err != nil:
		t.Fatal(r.err)
	}
	if faults == nil && code != r.code {
		fault("exit %d, want %d", code, r.code)
	}
	said := r.stdout.String() + r.stderr.String()
	if r.code != 0 {
		lines := strings.Split(strings.TrimSuffix(r.stderr.String(), "\n"), "\n")
		said = lines[len(lines)-1]
		if !strings.HasPrefix(said, "calotte: ") {
			fault("no line with the error")
		}
		more := slices.DeleteFunc(lines[:len(lines)-1], func(line string) bool {
			kind, _, _ := strings.Cut(line, ": ")
			return slices.Contains([]string{"note", "warning", "failed"}, kind)
		})
		if len(more) > 0 {
			fault("%d lines that are no notes: %s", len(more), cutTo(more[0]))
		}
	}
	for _, want := range r.says {
		if !strings.Contains(said, want) {
			fault("it does not say %q: %s", want, cutTo(said))
		}
	}
	faults = append(faults, r.plain()...)
	faults = append(faults, r.left(t)...)
	if r.code == 0 && code == 0 {
		faults = append(faults, r.compare(t)...)
	}
	return faults
}

// plain finds what no terminal should be given.
func (r *corpusRun) plain() (faults []string) {
	const longest = 2000 // bytes of a line on standard error
	for _, text := range []string{r.stdout.String(), r.stderr.String()} {
		if i := strings.IndexFunc(text,
			func(c rune) bool { return !unicode.IsGraphic(c) && c != '\n' && c != '\t' }); i >= 0 {
			faults = append(faults, fmt.Sprintf("a character that is not shown but obeyed: %q",
				cutTo(text[i:])))
		}
		if strings.Contains(text, privateText) {
			faults = append(faults, "the patient's text is shown")
		}
	}
	for line := range strings.Lines(r.stderr.String()) {
		if len(line) > longest {
			faults = append(faults, fmt.Sprintf("a line of %d bytes: %s", len(line), cutTo(line)))
		}
	}
	return faults
}

// privateText is a part of the patient's field in every recording of the
// corpus.
const privateText = "Hemlich"

// ofResults begins the paths of what a study writes, and may change.
const ofResults = "study/results/"

// left compares the folder with what was there.
func (r *corpusRun) left(t *testing.T) (faults []string) {
	t.Helper()
	after := snapshot(t, r.dir)
	for path, sum := range r.before {
		if after[path] != sum && !strings.HasPrefix(path, ofResults) {
			faults = append(faults, path+" has changed or is gone")
		}
	}
	for path := range after {
		if _, given := r.before[path]; given {
			continue
		}
		switch {
		case strings.HasPrefix(filepath.Base(path), ".calotte-"), strings.HasPrefix(path, "tmp/"),
			strings.HasPrefix(path, "home/"):
			faults = append(faults, path+" is left behind")
		case r.code != 0 && !strings.HasPrefix(path, ofResults):
			faults = append(faults, path+" was written although the work failed")
		}
		text, err := os.ReadFile(filepath.Join(r.dir, path))
		if err != nil {
			continue // a link that was found and leads nowhere
		}
		for _, private := range []string{privateText, r.dir} {
			if bytes.Contains(text, []byte(private)) {
				faults = append(faults, fmt.Sprintf("%s holds %q", path, private))
			}
		}
	}
	slices.Sort(faults)
	return faults
}

// cutTo makes a text fit a message.
func cutTo(text string) string { return text[:min(len(text), 400)] }

// compare compares what came out with the numbers of the case.
func (r *corpusRun) compare(t *testing.T) (faults []string) {
	t.Helper()
	for _, n := range r.numbers {
		want, err := os.ReadFile(filepath.Join(corpusFolder, n.source))
		if err != nil {
			t.Fatal(err)
		}
		got := r.stdout.Bytes()
		if n.place != "stdout" {
			if got, err = os.ReadFile(filepath.Join(r.dir, n.place)); err != nil {
				faults = append(faults, err.Error())
				continue
			}
		}
		same := sameTable
		if filepath.Ext(n.source) == ".json" {
			same = sameJSON
		}
		if err := same(got, want); err != nil {
			faults = append(faults, fmt.Sprintf("%s: %v", n.place, err))
		}
	}
	return faults
}

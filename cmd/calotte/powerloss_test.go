//go:build unix

package main

import (
	"bytes"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"

	"calotte/cmd/internal/disk"
)

// A recordedWrite is a request that changed the disk.
type recordedWrite struct {
	disk.Call
	data []byte
}

// recordWrites carries out a command line and returns what it asked for.
func recordWrites(t *testing.T, args []string) []recordedWrite {
	t.Helper()
	var writes []recordedWrite
	restore := disk.Observe(func(c disk.Call) error {
		if c.Op != disk.Opening {
			writes = append(writes, recordedWrite{c, bytes.Clone(c.Data)})
		}
		return nil
	})
	defer restore()
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	must(t, args...)
	return writes
}

// A drive is what a disk holds after a power cut: names of files, and of each
// what of its content was synced and what was not.
type drive struct {
	names   map[string]int // to the number of the content
	synced  []string
	written []string
}

func newDrive(files map[string]string) *drive {
	d := &drive{names: map[string]int{}}
	for path, text := range files {
		d.names[path] = len(d.synced)
		d.synced, d.written = append(d.synced, text), append(d.written, text)
	}
	return d
}

// content carries out what a request does to the contents of files.
func (d *drive) content(w recordedWrite) {
	k, known := d.names[w.Path]
	switch {
	case w.Op == disk.Making && !known:
		d.names[w.Path] = len(d.synced)
		d.synced, d.written = append(d.synced, ""), append(d.written, "")
	case w.Op == disk.Writing:
		text := d.written[k]
		text += strings.Repeat("\x00", max(0, int(w.Offset)+len(w.data)-len(text)))
		d.written[k] = text[:w.Offset] + string(w.data) + text[int(w.Offset)+len(w.data):]
	case w.Op == disk.Syncing && known:
		d.synced[k] = d.written[k]
	}
}

// rename carries out what a request does to names, of folders too.
func rename(names map[string]int, w recordedWrite) {
	for path, k := range maps.Clone(names) {
		in := path == w.Path || strings.HasPrefix(path, w.Path+"/")
		switch {
		case in && w.Op == disk.Removing:
			delete(names, path)
		case in && w.Op == disk.Renaming:
			delete(names, path)
			names[w.To+strings.TrimPrefix(path, w.Path)] = k
		}
	}
}

// after is what the drive holds where the power goes after some requests. With
// ahead the system has written all names down; without, only those of folders
// that were synced since. Contents are there as far as they were synced.
func after(old map[string]string, writes []recordedWrite, ahead bool) map[string]string {
	d := newDrive(old)
	lasting := maps.Clone(d.names)
	var waiting []recordedWrite // changes of names that a cut takes back
	for _, w := range writes {
		d.content(w)
		rename(d.names, w)
		if w.Op == disk.Making || w.Op == disk.Renaming || w.Op == disk.Removing {
			waiting = append(waiting, w)
		}
		_, file := d.names[w.Path]
		if w.Op != disk.Syncing || file {
			continue
		}
		waiting = slices.DeleteFunc(waiting, func(v recordedWrite) bool {
			if filepath.Dir(v.Path) != w.Path {
				return false
			}
			if k, ok := d.names[v.Path]; v.Op == disk.Making && ok {
				lasting[v.Path] = k
			}
			rename(lasting, v)
			if k, ok := d.names[v.To]; v.Op == disk.Renaming && ok {
				lasting[v.To] = k // it was made and renamed since the last sync
			}
			return true
		})
	}
	names := lasting
	if ahead {
		names = d.names
	}
	held := map[string]string{}
	for path, k := range names {
		held[path] = d.synced[k]
	}
	return held
}

// Wherever the power goes, the outputs are the old ones, the new ones, or
// refused when they are read; and after the end of a run they are the new ones.
func TestPowerLoss(t *testing.T) {
	in := trialInputs(t)
	for _, tr := range trials {
		t.Run(tr.name, func(t *testing.T) {
			out := filepath.Join(scratch(t), "out")
			must(t, tr.args(tr.old, in, out)...)
			old := everything(t, out)
			writes := recordWrites(t, tr.args(tr.new, in, out))
			cutPower(t, out, old, everything(t, out), writes)
		})
	}
}

func cutPower(t *testing.T, out string, old, new map[string]string, writes []recordedWrite) {
	t.Helper()
	absolute := map[string]string{}
	for path, text := range old {
		absolute[filepath.Join(out, path)] = text
	}
	for k := range len(writes) + 1 {
		for _, ahead := range []bool{false, true} {
			held := map[string]string{}
			for path, text := range after(absolute, writes[:k], ahead) {
				if in, err := filepath.Rel(out, path); err == nil && !isHidden(in) {
					held[in] = text
				}
			}
			if err := readsAsWhole(held, old, new); err != nil {
				what := "the end"
				if k < len(writes) {
					what = fmt.Sprintf("%s %s", writes[k].Op, writes[k].Path)
				}
				t.Errorf("the power goes before %s (names ahead: %v): %v", what, ahead, err)
			}
			if k == len(writes) && !maps.Equal(held, new) {
				t.Errorf("the power goes after the end (names ahead: %v): %v", ahead,
					differing(held, new))
			}
		}
	}
	t.Logf("%d cuts", 2*(len(writes)+1))
}

// The same holds for a study, which after a cut goes on to the bytes of one
// that was never disturbed.
func TestPowerLossInAStudy(t *testing.T) {
	dir := scratch(t)
	for i := range 2 {
		id := fmt.Sprintf("sub-%02d", i+1)
		sessionFile{events: true, factor: 1 + .3*float64(i)}.write(t,
			filepath.Join(dir, "data", id, "eeg", id+"_task-flags_eeg.edf"))
	}
	path := writeFile(t, filepath.Join(dir, "recipe.yaml"), leanRecipe)
	out := filepath.Join(dir, "results")
	must(t, "cohort", "run", path)
	raw := map[string]string{}
	for _, file := range listing(t, out) {
		raw[file] = readText(t, file)
	}
	writeFile(t, path, strings.Replace(leanRecipe, "  epoch:", "  reference: average\n  epoch:", 1))
	writes := recordWrites(t, []string{"cohort", "run", path, "--quiet", "--jobs", "1"})
	new := everything(t, out)
	const most = 40 // studies that go on
	for k := 0; k <= len(writes); k += max(1, len(writes)/most) {
		for _, ahead := range []bool{false, true} {
			if err := os.RemoveAll(out); err != nil {
				t.Fatal(err)
			}
			for file, text := range after(raw, writes[:k], ahead) {
				writeFile(t, file, text)
			}
			must(t, "cohort", "run", path, "--quiet")
			if got := everything(t, out); !maps.Equal(got, new) {
				t.Errorf("the power goes after %d of %d requests (names ahead: %v): %v", k, len(writes),
					ahead,
					differing(got, new))
			}
			if left := hidden(t, out); len(left) > 0 {
				t.Errorf("left behind: %v", left)
			}
		}
	}
}

// A drive that forgets what was not synced is seen to forget it.
func TestDriveForgets(t *testing.T) {
	write := func(op disk.Op, path, to, data string) recordedWrite {
		return recordedWrite{disk.Call{Op: op, Path: path, To: to}, []byte(data)}
	}
	unsynced := []recordedWrite{
		write(disk.Making, "/d/new", "", ""), write(disk.Writing, "/d/new", "", "new"),
		write(disk.Renaming, "/d/new", "/d/file", ""),
	}
	synced := slices.Insert(slices.Clone(unsynced), 2, write(disk.Syncing, "/d/new", "", ""))
	for _, c := range []struct {
		what   string
		writes []recordedWrite
		ahead  bool
		want   string
	}{
		{"names ahead of contents", unsynced, true, ""},
		{"names that were not synced", synced, false, "old"},
		{"contents synced, names ahead", synced, true, "new"},
		{"all synced", append(slices.Clone(synced), write(disk.Syncing, "/d", "", "")), false, "new"},
	} {
		if got := after(map[string]string{"/d/file": "old"}, c.writes, c.ahead)["/d/file"]; got != c.want {
			t.Errorf("%s: the file holds %q, want %q", c.what, got, c.want)
		}
	}
}

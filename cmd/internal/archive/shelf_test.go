package archive

import (
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"calotte/cmd/internal/disk"
	"calotte/topo/erp/average"
	"calotte/topo/erp/store"
)

// settle waits until changes of the files show.
func settle(t *testing.T, paths []string) {
	t.Helper()
	for _, path := range paths {
		for {
			info, err := os.Stat(path)
			if err != nil {
				t.Fatal(err)
			}
			if disk.StampOf(info).Settled(time.Now()) {
				break
			}
			time.Sleep(50 * time.Millisecond)
		}
	}
}

func mustLoad(t *testing.T, s *Shelf, table string, need store.Need) (*average.Average, []string) {
	t.Helper()
	a, read, err := s.Load(table, average.Clock{}, need)
	if err != nil {
		t.Fatal(err)
	}
	return a, read
}

func TestShelf(t *testing.T) {
	t.Parallel()
	table := save(t, sample())
	s := NewShelf(1 << 20)
	first, read := mustLoad(t, s, table, store.Everything)
	if again, _ := mustLoad(t, s, table, store.Everything); again == first {
		t.Error("what was written a moment ago was kept: a change would not show")
	}
	if _, known := s.hash(table); known {
		t.Error("its hash was kept")
	}
	settle(t, read)
	kept, _ := mustLoad(t, s, table, store.Everything)
	again, files := mustLoad(t, s, table, store.Everything)
	if again != kept {
		t.Error("an average that is unchanged was read again")
	}
	if !reflect.DeepEqual(again, first) || !slices.Equal(files, read) {
		t.Errorf("from the shelf: %v of %v, want %v of %v", again, files, first, read)
	}
	if sum, known := s.hash(table); !known || sum != first.Info.Files[0].SHA256 {
		t.Errorf("hash %q, %v, want %s", sum, known, first.Info.Files[0].SHA256)
	}
	means, _ := mustLoad(t, s, table, store.Means)
	if means.SEM != nil || means.Pairs.Names != nil || !reflect.DeepEqual(means.Mean, kept.Mean) {
		t.Errorf("means alone: %v", means)
	}
	var none *Shelf
	if a, _ := mustLoad(t, none, table, store.Everything); a == kept {
		t.Error("no shelf is that of others")
	}
	// Any of the files may change, not the table alone.
	errors := strings.TrimSuffix(table, store.TableSuffix) + store.SEMSuffix
	text, err := os.ReadFile(errors)
	if err != nil {
		t.Fatal(err)
	}
	text[len(text)-2]++
	if err := os.WriteFile(errors, text, 0o666); err != nil {
		t.Fatal(err)
	}
	for _, need := range []store.Need{store.Everything, store.Means} {
		_, _, err := s.Load(table, average.Clock{}, need)
		wantError(t, err, store.SEMSuffix+" has changed since it was written")
	}
	if _, known := s.hash(table); known {
		t.Error("the hash of an average that has changed was kept")
	}
	if s.room != 1<<20 {
		t.Errorf("%d bytes of %d are left, and nothing is kept", s.room, 1<<20)
	}
}

// What there is no room for is read each time, and what is kept stays.
func TestShelfIsBounded(t *testing.T) {
	t.Parallel()
	one, two := save(t, sample()), save(t, sample())
	s := NewShelf(sizeOf(sample()) + 100)
	settle(t, slices.Concat(Paths("", strings.TrimSuffix(one, store.TableSuffix))[:3],
		Paths("", strings.TrimSuffix(two, store.TableSuffix))[:3]))
	for range 2 {
		kept, _ := mustLoad(t, s, one, store.Everything)
		again, _ := mustLoad(t, s, one, store.Everything)
		if again != kept {
			t.Error("what there is room for was read again")
		}
		other, _ := mustLoad(t, s, two, store.Everything)
		if again, _ := mustLoad(t, s, two, store.Everything); again == other {
			t.Error("more was kept than there is room for")
		}
	}
}

// Many may ask for the same at once.
func TestShelfSideBySide(t *testing.T) {
	t.Parallel()
	table := save(t, sample())
	_, read, err := Load(table, average.Clock{})
	if err != nil {
		t.Fatal(err)
	}
	settle(t, read)
	s := NewShelf(1 << 20)
	paths := slices.Repeat([]string{table}, 50)
	for range 2 {
		averages, files, err := s.LoadAll(paths, average.Clock{}, store.Everything)
		if err != nil || len(files) != len(read)*len(paths) {
			t.Fatalf("%d files, %v", len(files), err)
		}
		for _, a := range averages {
			if !reflect.DeepEqual(a, averages[0]) {
				t.Errorf("%v, want %v", a, averages[0])
			}
		}
	}
	if room := 1<<20 - sizeOf(sample()); s.room != room {
		t.Errorf("%d bytes are left, want %d", s.room, room)
	}
}

// A table alone is another thing once a JSON lies beside it.
func TestShelfKeepsNoTableAlone(t *testing.T) {
	t.Parallel()
	table := save(t, sample())
	info := strings.TrimSuffix(table, store.TableSuffix) + store.InfoSuffix
	if err := os.Rename(info, info+".away"); err != nil {
		t.Fatal(err)
	}
	settle(t, []string{table})
	s := NewShelf(1 << 20)
	if a, _ := mustLoad(t, s, table, store.Everything); a.Info.Kind != average.Table {
		t.Fatalf("kind %q", a.Info.Kind)
	}
	if err := os.Rename(info+".away", info); err != nil {
		t.Fatal(err)
	}
	if a, _ := mustLoad(t, s, table, store.Everything); a.Info.Kind != average.Participant {
		t.Errorf("kind %q: the JSON was not seen", a.Info.Kind)
	}
}

package archive

import (
	"os"
	"slices"
	"strings"
	"sync"
	"time"

	"calotte/cmd/internal/disk"
	"calotte/topo/erp/average"
	"calotte/topo/erp/store"
	"calotte/topo/provenance"
)

// A Shelf keeps averages that were read, for whoever of the same run asks for
// them next. What it gives is shared: nobody may write to it. A file that has
// changed is read anew, and one that changed a moment ago is not kept, since a
// change within a tick of the clock would not show. A nil Shelf keeps nothing.
//
// Where the room is taken, what comes next is not kept. A study asks for all of
// its people again and again, in one order: of more people than there is room
// for, those that were used last would always push out those that are asked for
// next, and none would ever be found.
type Shelf struct {
	mutex sync.Mutex
	room  int // in bytes, that is left
	kept  map[wanted]*shelved
}

// NewShelf is an empty shelf with room for averages of so many bytes.
func NewShelf(room int) *Shelf { return &Shelf{room: room, kept: map[wanted]*shelved{}} }

// A wanted average is that of a table, of which all is needed or the means.
type wanted struct {
	path  string
	clock average.Clock
	need  store.Need
}

// A shelved average was read from files that had these stamps.
type shelved struct {
	average *average.Average
	read    []string
	stamps  []disk.Stamp
	size    int
}

// Load is the function Load of what is needed of an average, where it is not on
// the shelf.
func (s *Shelf) Load(path string, clock average.Clock, need store.Need) (*average.Average, []string, error) {
	key := wanted{path, clock, need}
	if found := s.find(key); found != nil {
		return found.average, found.read, nil
	}
	begun := time.Now()
	a, read, err := load(path, clock, need)
	if err == nil {
		s.keep(key, a, read, begun)
	}
	return a, read, err
}

// find is what was kept of an average, where its files are as they were.
func (s *Shelf) find(key wanted) *shelved {
	if s == nil {
		return nil
	}
	s.mutex.Lock()
	found := s.kept[key]
	s.mutex.Unlock()
	if found == nil || found.isFresh() {
		return found
	}
	s.mutex.Lock()
	defer s.mutex.Unlock()
	if s.kept[key] == found {
		delete(s.kept, key)
		s.room += found.size
	}
	return nil
}

func (a *shelved) isFresh() bool {
	for i, path := range a.read {
		if info, err := os.Stat(path); err != nil || disk.StampOf(info) != a.stamps[i] {
			return false
		}
	}
	return true
}

// keep puts an average on the shelf that was read from a time on, if there is
// room. A table alone is not kept: a JSON that comes to lie beside it says what
// it is.
func (s *Shelf) keep(key wanted, a *average.Average, read []string, begun time.Time) {
	if s == nil || len(read) == 1 {
		return
	}
	kept := &shelved{average: a, read: read, size: sizeOf(a)}
	for _, path := range read {
		info, err := os.Stat(path)
		if err != nil {
			return
		}
		stamp := disk.StampOf(info)
		if !stamp.Settled(begun) {
			return
		}
		kept.stamps = append(kept.stamps, stamp)
	}
	s.mutex.Lock()
	defer s.mutex.Unlock()
	if s.kept[key] == nil && kept.size <= s.room {
		s.kept[key] = kept
		s.room -= kept.size
	}
}

// hash is the SHA-256 of a table whose average is on the shelf: loading it has
// found that it is the one that its JSON lists.
func (s *Shelf) hash(path string) (sum string, known bool) {
	for _, need := range []store.Need{store.Everything, store.Means} {
		if found := s.find(wanted{path: path, need: need}); found != nil {
			return found.average.Info.Files[slices.IndexFunc(found.average.Info.Files, isTable)].SHA256, true
		}
	}
	return "", false
}

func isTable(f provenance.Source) bool { return strings.HasSuffix(f.Name, store.TableSuffix) }

// sizeOf is how many bytes an average takes, about: its numbers, and what is
// said of it.
func sizeOf(a *average.Average) int {
	const about = 1 << 14
	numbers := len(a.Times)
	for _, table := range [][][]float64{a.Mean, a.SEM, a.Pairs.Mean, a.Pairs.SEM} {
		numbers += len(table) * len(a.Times)
	}
	return about + 8*numbers
}

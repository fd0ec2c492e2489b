package cohort

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"slices"
	"time"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/disk"
)

// reports is the task whose files tell of all others. Their record makes known
// whether they are of what is there now: it goes, with them, before anything
// that they tell of is made anew.
var reports = Task{ID: "report " + IndexPage, Outputs: []string{qualityTable, methodsFile, datasetFile, IndexPage}}

// reportsKey is the SHA-256 of what the reports tell of: the recipe, and how
// its tasks stand.
func (s *Study) reportsKey(standing []Record) (string, error) {
	recipe, err := disk.ReadFile(s.Path)
	if err != nil {
		return "", err
	}
	told := []any{s.Ledger.Maker, archive.Hash(recipe)}
	for _, r := range standing {
		told = append(told, r.ID, r.State, r.Key, r.Error, r.Files)
	}
	text, err := json.Marshal(told)
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:]), nil
}

// Reports is how the reports stand, while the tasks stand as given.
func (s *Study) Reports(standing []Record) (Record, error) {
	r, ok := s.Ledger.Read(reports.ID)
	if !ok {
		return Record{ID: reports.ID, State: Waiting}, nil
	}
	key, err := s.reportsKey(standing)
	if err != nil {
		return r, err
	}
	files, err := s.Ledger.outputs(reports)
	if r.Key != key || err != nil || !slices.Equal(files, r.Files) {
		r.State = Changed
	}
	return r, nil
}

// report writes the reports, unless they tell of what is there already.
func (s *Study) report(ctx context.Context) error {
	begun, standing := time.Now(), s.Standing()
	if r, err := s.Reports(standing); err != nil || r.State == Done {
		return err
	}
	if err := s.Ledger.dropReports(); err != nil {
		return err
	}
	key, err := s.reportsKey(standing)
	if err != nil {
		return err
	}
	if err := s.writeReports(ctx, standing); err != nil {
		return err
	}
	files, err := s.Ledger.outputs(reports)
	if err != nil {
		return err
	}
	return s.Ledger.keep(ctx,
		Record{ID: reports.ID, Key: key, State: Done, Seconds: time.Since(begun).Seconds(), Files: files}, nil)
}

// dropReports removes the reports and their record, as far as they are there.
// Several processes that do people side by side may come to it at once.
func (l *Ledger) dropReports() error {
	l.dropping.Lock()
	defer l.dropping.Unlock()
	r, ok := l.Read(reports.ID)
	if !ok {
		return nil
	}
	for _, f := range r.Files {
		// What a link leads to is not theirs; they are put in its place
		// in the end.
		if _, err := l.removeMade(f); err != nil && !errors.Is(err, disk.ErrOutside) {
			return err
		}
	}
	return l.forget(recordName(reports.ID))
}

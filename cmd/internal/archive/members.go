package archive

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"calotte/topo/erp/average"
	"calotte/topo/erp/store"
)

// A NotHereError says that the people behind a grand average are not at hand.
type NotHereError struct{ Reason string }

// Error implements error.
func (e *NotHereError) Error() string { return e.Reason }

// LoadMembers reads the averages of the people behind a grand average whose
// table is at path, each one's difference where it is one of differences, and
// returns the paths of all that it read. They are looked for beside the table,
// in the folders given and around the table's, by the names and hashes that the
// grand average keeps. They have no standard errors, since what is done to
// people takes their means.
func (s *Shelf) LoadMembers(ctx context.Context, path string, info average.Info,
	folders []string) (members []*average.Average, read []string, err error) {
	tables, err := s.MemberTables(ctx, path, info, folders)
	if err != nil {
		return nil, nil, err
	}
	parts, read, err := s.LoadAll(slices.Concat(tables...), average.Clock{}, store.Means)
	if err != nil {
		return nil, nil, err
	}
	for i, m := range info.Members {
		switch len(tables[i]) {
		case 1:
			members = append(members, parts[0])
		case 2:
			d, err := average.Difference(parts[0], parts[1])
			if err != nil {
				return nil, nil, err
			}
			members = append(members, d)
		default:
			return nil, nil, &NotHereError{fmt.Sprintf("%s does not say which files of %s it was made "+
				"of: combine again",
				filepath.Base(path), m.Name)}
		}
		parts = parts[len(tables[i]):]
	}
	slices.Sort(read)
	return members, slices.Compact(read), nil
}

// MemberTables are the paths of the tables of each person behind a grand
// average, two of a difference, found as [LoadMembers] finds them.
func (s *Shelf) MemberTables(ctx context.Context, path string, info average.Info, folders []string) ([][]string,
	error) {
	search := newSearch(ctx, s, folders)
	search.wide = true
	tables := make([][]string, len(info.Members))
	for i, m := range info.Members {
		for _, f := range m.Files {
			if !strings.HasSuffix(f.Name, store.TableSuffix) {
				continue
			}
			found, same, err := search.locate(filepath.Dir(path), f)
			switch {
			case err != nil:
				return nil, err
			case found == "":
				return nil, &NotHereError{fmt.Sprintf("%s is not here, of which %s was "+
					"made: give its "+
					"folder by --in",
					f.Name, filepath.Base(path))}
			case !same:
				return nil, fmt.Errorf("%s is not the file of which %s was made: restore it, or "+
					"combine again",
					found, filepath.Base(path))
			}
			tables[i] = append(tables[i], found)
		}
	}
	return tables, nil
}

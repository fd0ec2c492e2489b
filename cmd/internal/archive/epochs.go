package archive

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"

	"calotte/topo/erp"
)

// LoadEpochs reads the epochs that were saved with the average whose table is at path,
// into memory, and returns the paths of all that it read. Where none lie beside it, be
// it that none were saved or that the array was deleted, it returns nil without an
// error; epochs that are not those of the average are one.
//
// The covariance of the mean, which the error of a map asks for, comes from them:
//
//	e, _, err := archive.LoadEpochs("averages/sub-01_known_average.tsv")
//	scores, err := e.WindowScores(span)     // epoch × site; or e.Scores for a sample
//	covariance, err := erp.MeanCovariance(scores)
func LoadEpochs(path string) (e *erp.Epochs, read []string, err error) {
	stem, named := strings.CutSuffix(path, tableSuffix)
	if !named {
		return nil, nil, nil // a table made elsewhere
	}
	array := stem + epochsSuffix
	if _, err := os.Stat(array); errors.Is(err, fs.ErrNotExist) {
		return nil, nil, nil
	}
	s, err := OpenEpochs(array)
	if err != nil {
		return nil, nil, err
	}
	defer s.Close()
	if !s.Described {
		return nil, nil, nil // an average without a JSON: nothing says that they are its own
	}
	if e, err = s.Set.Collect(); err != nil {
		return nil, nil, fmt.Errorf("%s: %w", array, err)
	}
	return e, s.Paths, nil
}

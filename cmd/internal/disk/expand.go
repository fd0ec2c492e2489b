package disk

import (
	"path/filepath"
	"strings"
)

// Expand replaces patterns by the files that match them, for shells that leave
// this to the program. What matches nothing stays as it is.
func Expand(args []string) []string {
	var out []string
	for _, arg := range args {
		files, err := filepath.Glob(arg)
		if !strings.Contains(arg, "*") || err != nil || len(files) == 0 {
			files = []string{arg}
		}
		out = append(out, files...)
	}
	return out
}

package disk

import (
	"os"
	"path/filepath"
	"strings"
)

// Expand replaces patterns by the files that match them, for shells that leave
// this to the program. What matches nothing stays as it is, and so does the
// name of a file with an asterisk in it.
func Expand(args []string) []string {
	var out []string
	for _, arg := range args {
		out = append(out, matches(arg)...)
	}
	return out
}

func matches(arg string) []string {
	itself := []string{arg}
	if !strings.Contains(arg, "*") {
		return itself
	}
	if _, err := os.Lstat(arg); err == nil {
		return itself
	}
	files, err := filepath.Glob(arg)
	if err != nil || len(files) == 0 {
		return itself
	}
	return files
}

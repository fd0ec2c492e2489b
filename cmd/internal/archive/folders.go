package archive

import (
	"os"

	"calotte/cmd/internal/console"
)

// CheckFolders refuses what --in cannot be.
func CheckFolders(folders []string) error {
	for _, dir := range folders {
		if info, err := os.Stat(dir); err != nil || !info.IsDir() {
			return console.Usagef("--in %s: expected a folder", dir)
		}
	}
	return nil
}

package intake

import (
	"bytes"
	"fmt"
	"os"
	"slices"
	"strings"

	"calotte/cmd/internal/disk"
)

// SiteList is a flag that takes names joined by commas, or a file with a name a
// line.
type SiteList []string

// Set implements pflag.Value.
func (l *SiteList) Set(text string) error {
	parts := strings.Split(text, ",")
	if l.IsFile(text) {
		b, err := disk.ReadFile(text)
		if err != nil {
			return err
		}
		parts = strings.Split(string(bytes.TrimSpace(b)), "\n")
	}
	var list []string
	for _, p := range parts {
		p = strings.TrimSpace(p)
		if p == "" || strings.ContainsAny(p, "\t\r") {
			return fmt.Errorf("%q: expected names, none of them empty", text)
		}
		if slices.Contains(list, p) {
			return fmt.Errorf("%s is given twice", p)
		}
		list = append(list, p)
	}
	*l = list
	return nil
}

// IsFile reports whether the text is the name of a file.
func (SiteList) IsFile(text string) bool {
	info, err := os.Stat(text)
	return err == nil && info.Mode().IsRegular()
}

// String implements pflag.Value.
func (l SiteList) String() string { return strings.Join(l, ",") }

// Type implements pflag.Value.
func (l SiteList) Type() string { return "sites" }

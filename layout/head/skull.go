package head

import (
	"fmt"
	"strings"
)

// OpenSkull is what notes say of the bone, in words: where it is missing or
// pierced the scalp shows more of what is below it (common practice, no
// source). It is empty where they say nothing of it.
func OpenSkull(notes []Note) string {
	var texts []string
	for _, n := range notes {
		if n.Kind == SkullDefect || n.Kind == Plate || n.Kind == Shunt {
			texts = append(texts, strings.TrimSpace(fmt.Sprintf("%s %s %s", n.Kind, n.Side, n.Place)))
		}
	}
	return strings.Join(texts, ", ")
}

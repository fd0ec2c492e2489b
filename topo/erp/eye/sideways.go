package eye

import (
	"slices"
	"strings"
	"unicode"

	"calotte/topo/erp/montage"
)

// Sideways is the channel among a montage's signals that looks sideways move:
// the one beside both eyes, with an H in its label (HEOG), or the one beside
// the right eye minus the one beside the left (HEOGR and HEOGL). It is false
// where no signal is labelled so.
func Sideways(m *montage.Montage) (Channel, bool) {
	sides := map[string]string{}
	var bipolar []string
	for _, label := range Channels(m) {
		switch words := wordsOf(label); {
		case strings.Contains(words, "V"):
		case isSide(words, "RIGHT", "R", "ROC"):
			sides["right"] = label
		case isSide(words, "LEFT", "L", "LOC"):
			sides["left"] = label
		case strings.Contains(words, "H"):
			bipolar = append(bipolar, label)
		}
	}
	switch {
	case len(bipolar) == 1:
		return Channel{Plus: bipolar[0]}, true
	case len(bipolar) == 0 && len(sides) == 2:
		return Channel{Plus: sides["right"], Minus: sides["left"]}, true
	}
	return Channel{}, false
}

// wordsOf are the capital letters of a label, without EOG, which may stand
// before or behind what says where it is.
func wordsOf(label string) string {
	letters := strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) {
			return unicode.ToUpper(r)
		}
		return -1
	}, label)
	return strings.Replace(letters, "EOG", "", 1)
}

// isSide reports whether words are one of some names of a side, with an H for
// horizontal or without.
func isSide(words string, names ...string) bool {
	return slices.Contains(names, words) || slices.Contains(names, strings.Trim(words, "H"))
}

package event

import (
	"slices"
	"strconv"
	"strings"

	"calotte/topo/unit"
)

func (n anyLabel) text() string { return quoteAll(n.labels) }
func (n anyValue) text() string { return quote(n.column) + ":" + quoteAll(n.values) }
func (n compare) text() string {
	return quote(n.column) + n.operator + strconv.FormatFloat(n.number, 'g', -1, 64)
}

// text writes seconds, as stretches of a recording are long.
func (n during) text() string {
	return timeWord + ":" + seconds(n.span.From) + ".." + seconds(n.span.To) + "s"
}

func seconds(t unit.Time) string { return strconv.FormatFloat(float64(t), 'f', -1, 64) }

func (n not) text() string {
	switch n.of.(type) {
	case all, anyNode:
		return notWord + " (" + n.of.text() + ")"
	}
	return notWord + " " + n.of.text()
}

func (n all) text() string {
	parts := make([]string, len(n.of))
	for i, of := range n.of {
		parts[i] = of.text()
		if _, loose := of.(anyNode); loose {
			parts[i] = "(" + parts[i] + ")"
		}
	}
	return strings.Join(parts, " "+andWord+" ")
}

func (n anyNode) text() string {
	parts := make([]string, len(n.of))
	for i, of := range n.of {
		parts[i] = of.text()
	}
	return strings.Join(parts, " "+orWord+" ")
}

func quoteAll(words []string) string {
	quoted := make([]string, len(words))
	for i, w := range words {
		quoted[i] = quote(w)
	}
	return strings.Join(quoted, ",")
}

// quote returns the word in double quotes, where it needs them.
func quote(word string) string {
	if word != "" && !slices.Contains(keywords, word) && !strings.ContainsFunc(word, special) {
		return word
	}
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`).Replace(word) + `"`
}

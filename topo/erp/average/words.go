package average

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"calotte/topo/erp/internal/words"
	"calotte/topo/unit"
)

// NotKnown stands, in a text, for what nobody said.
const NotKnown = "not known"

// AsRecorded is the reference of recordings that state none.
const AsRecorded = "as recorded"

// OrNotKnown is the text, or the words that it is not known.
func OrNotKnown(text string) string {
	if text == "" {
		return NotKnown
	}
	return text
}

// BaselineSpan returns the baseline as a range of time, if there is one.
func (i Info) BaselineSpan() (s unit.Span, ok bool) {
	return s, s.Set(i.Baseline) == nil
}

// Extent says how much data is behind the average: "1 person, 31 epochs", "12
// people, 78–99 epochs each", and for a difference the epochs of both
// conditions: "1 person, 16 and 14 epochs". Centres other than means are named
// behind it. It is empty where nothing is known.
func (i Info) Extent() string {
	text := i.extent()
	if centres := i.Centres(); centres != "" && text != "" {
		text += ", " + centres
	}
	return text
}

func (i Info) extent() string {
	switch {
	case i.Kind == GrandAverage:
		return words.People(len(i.Members)) + each(i.Members, i.Minus != "")
	case i.Minus != "" && len(i.Members) == 2 && i.Members[0].Epochs > 0 && i.Members[1].Epochs > 0:
		return fmt.Sprintf("1 person, %d and %d epochs", i.Members[0].Epochs, i.Members[1].Epochs)
	case i.Epochs != nil:
		return "1 person, " + words.Number(i.Epochs.Kept, "epoch")
	}
	return ""
}

// each is ", 78–99 epochs each", empty unless every member's number is known.
func each(members []Member, difference bool) string {
	var first, second Extremes
	for _, m := range members {
		if m.Epochs <= 0 || difference && m.Minus <= 0 {
			return ""
		}
		first.Hold(m.Epochs)
		second.Hold(m.Minus)
	}
	text := first.String()
	if difference {
		text += " and " + second.String()
	} else if first == (Extremes{1, 1}) {
		return ", 1 epoch each"
	}
	return ", " + text + " epochs each"
}

// Extremes of whole numbers above zero; the zero value holds none.
type Extremes struct{ least, most int }

// Hold takes in a number.
func (e *Extremes) Hold(n int) {
	if e.least == 0 || n < e.least {
		e.least = n
	}
	e.most = max(e.most, n)
}

func (e Extremes) String() string {
	if e.least == e.most {
		return fmt.Sprint(e.most)
	}
	return fmt.Sprintf("%d–%d", e.least, e.most)
}

// Remarks are sentences that belong beside a figure of the average: in how many
// members sites were repaired, how members were weighted, the notes, and what
// the average has too little of.
func (i Info) Remarks() []string {
	var texts []string
	if text := i.repairs(); text != "" {
		texts = append(texts, text)
	}
	if i.Kind == Participant && len(i.Mended) > 0 {
		texts = append(texts, fmt.Sprintf("Repaired in single epochs: %v.", i.Mended))
	}
	if i.Weighted {
		texts = append(texts, "People are weighted by their epochs.")
	}
	texts = append(texts, i.centreRemarks()...)
	for _, n := range i.Notes {
		texts = append(texts, sentence(n))
	}
	for _, w := range i.Warned() {
		texts = append(texts, sentence(w))
	}
	return texts
}

// repairs says in how many members of a grand average each site was repaired.
func (i Info) repairs() string {
	if i.Kind != GrandAverage {
		return "" // the sites' own marks say it
	}
	var sites []string
	for _, site := range i.Repaired {
		n := 0
		for _, m := range i.Members {
			if slices.Contains(m.Repaired, site) {
				n++
			}
		}
		sites = append(sites, fmt.Sprintf("%s in %d", site, n))
	}
	if sites == nil {
		return ""
	}
	return fmt.Sprintf("Repaired by the spline: %s of %s.", strings.Join(sites, ", "), words.People(len(i.Members)))
}

// sentence begins a note with a capital and ends it with a stop.
func sentence(note string) string {
	first, size := utf8.DecodeRuneInString(note)
	return string(unicode.ToUpper(first)) + strings.TrimSuffix(note[size:], ".") + "."
}

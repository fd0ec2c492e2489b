package cause

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// A Found is a cause, and where it was found.
type Found struct {
	Cause  Cause    `json:"cause"`
	Sites  []string `json:"sites"`  // those with the most epochs first
	Epochs []int    `json:"epochs"` // in which each site decided; nil: throughout
}

// Total is the number of epochs.
func (f Found) Total() int {
	total := 0
	for _, n := range f.Epochs {
		total += n
	}
	return total
}

// Collect adds a site to a list of causes, in an epoch or throughout.
func Collect(list []Found, why Cause, site string, epoch bool) []Found {
	i := slices.IndexFunc(list, func(f Found) bool { return f.Cause == why })
	if i < 0 {
		i, list = len(list), append(list, Found{Cause: why})
	}
	f := &list[i]
	k := slices.Index(f.Sites, site)
	if k < 0 {
		k, f.Sites = len(f.Sites), append(f.Sites, site)
		if epoch {
			f.Epochs = append(f.Epochs, 0)
		}
	}
	if epoch {
		f.Epochs[k]++
	}
	return list
}

// ByEpochs puts causes, and the sites of each, that cost most epochs first.
func ByEpochs(list []Found) {
	for i := range list {
		f := &list[i]
		order := make([]int, len(f.Sites))
		for k := range order {
			order[k] = k
		}
		slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(f.Epochs[b], f.Epochs[a]) })
		sites, epochs := make([]string, len(order)), make([]int, len(order))
		for k, from := range order {
			sites[k], epochs[k] = f.Sites[from], f.Epochs[from]
		}
		f.Sites, f.Epochs = sites, epochs
	}
	slices.SortStableFunc(list, func(a, b Found) int { return cmp.Compare(b.Total(), a.Total()) })
}

// mostNamed is how many electrodes a sentence names.
const mostNamed = 4

// named lists the first sites: "T8, FT8 and 3 more".
func (f Found) named() string {
	text := strings.Join(f.Sites[:min(mostNamed, len(f.Sites))], ", ")
	if more := len(f.Sites) - mostNamed; more > 0 {
		text += fmt.Sprintf(" and %d more", more)
	}
	return text
}

// Lost says what was lost: "12 to blinks, most at Fp1 (8), Fp2 (4)".
func (f Found) Lost() string {
	var texts []string
	for k, s := range f.Sites[:min(mostNamed, len(f.Sites))] {
		texts = append(texts, fmt.Sprintf("%s (%d)", s, f.Epochs[k]))
	}
	return fmt.Sprintf("%d to %s, most at %s", f.Total(), f.Cause, strings.Join(texts, ", "))
}

type advised struct {
	cause Cause
	text  string
}

// advice is what each cause asks for, in the order in which it is seen to; %s
// stands for the electrodes.
var advice = []advised{
	{SharedHum, "see to the ground and the reference electrode first, since all electrodes hum; then move cables, " +
		"lamps and chargers away"},
	{Dead, "see to %s: flat, so look at the plug and the wire before the gel"},
	{Exchanged, "follow the wires of %s: two seem exchanged"},
	{Contact, "see to %s (gel, contact, the place in the cap)"},
	{LoneHum, "see to the contact of %s, which hums alone, and lead its wire along the others"},
	{Jaw, "ask the wearer to let the jaw hang, teeth apart: if %s stays noisy, see to its contact"},
	{Forehead, "ask the wearer to smooth the forehead: if %s stays noisy, see to its contact"},
	{Neck, "ask the wearer to lean back and drop the shoulders: if %s stays noisy, see to its contact"},
	{Blink, "ask the wearer to blink between the trials, not in them"},
	{Sideways, "ask the wearer to keep looking at one point"},
	{Movement, "ask the wearer to sit still, and see that no cable pulls at the cap"},
}

// Advice is what to ask of the wearer, or to see to.
func (f Found) Advice() string {
	text := advice[f.Cause.Rank()].text
	if strings.Contains(text, "%s") {
		return fmt.Sprintf(text, f.named())
	}
	return text
}

// Rank is the place of a cause in the order in which causes are seen to.
func (c Cause) Rank() int {
	return slices.IndexFunc(advice, func(a advised) bool { return a.cause == c })
}

package average

import (
	"errors"
	"fmt"

	"calotte/topo/erp/epoch"
)

// CentreWords are a centre in words: "20 % trimmed mean".
func CentreWords(c epoch.Centre) string {
	if c == epoch.Trimmed {
		return fmt.Sprintf("%.0f %% trimmed mean", 100*epoch.Tail)
	}
	return c.String()
}

// CentreOf is the centre of a name in an [Info], the mean where it is empty or
// unknown.
func CentreOf(name string) epoch.Centre {
	var c epoch.Centre
	if c.Set(name) != nil {
		return epoch.Mean
	}
	return c
}

// Centres say which centres other than means an average holds: "20 % trimmed
// mean of epochs, median of people". Empty: there are means only.
func (i Info) Centres() string {
	text := ""
	if i.Centre != "" {
		text = CentreWords(CentreOf(i.Centre)) + " of epochs"
	}
	if i.Across != "" {
		if text != "" {
			text += ", "
		}
		text += CentreWords(CentreOf(i.Across)) + " of people"
	}
	return text
}

// Outer is the centre of which the standard errors are: over people of a grand
// average, else over epochs.
func (i Info) Outer() epoch.Centre {
	if i.Kind == GrandAverage {
		return CentreOf(i.Across)
	}
	return CentreOf(i.Centre)
}

// centreRemarks say what the centres are and how their errors are known.
func (i Info) centreRemarks() []string {
	var texts []string
	for _, over := range []struct{ centre, whom string }{{i.Centre, "epochs"}, {i.Across, "people"}} {
		switch CentreOf(over.centre) {
		case epoch.Trimmed:
			texts = append(texts, fmt.Sprintf("Trimmed means over %s, at each sample without the %.0f %% "+
				"largest and "+
				"the %.0f %% smallest; standard errors by Tukey & McLaughlin (1963).", over.whom,
				100*epoch.Tail,
				100*epoch.Tail))
		case epoch.Median:
			texts = append(texts, fmt.Sprintf("Medians over %s, at each sample; standard errors by "+
				"the bootstrap "+
				"(Efron 1979).", over.whom))
		}
	}
	return texts
}

// errNotLinear is of what holds for means alone.
func (i Info) errNotLinear() error {
	return fmt.Errorf("it is the %s, which at other sites or against another reference does not follow from what "+
		"it is here: average again with that reference, or take means", i.Centres())
}

// centred takes another centre than the mean over tables, and its standard
// error.
func centred(of tables, c epoch.Centre) (centre, se [][]float64) {
	var s epoch.Stack
	for k := range of.members {
		table := make([][]float64, of.rows)
		for i := range table {
			table[i] = of.row(k, i)
		}
		s.Add(table...)
	}
	return s.Centres(c)
}

// checkCentre refuses what has no centre of its own over so many people.
func checkCentre(c epoch.Centre, people int, weighted bool) error {
	switch {
	case c == epoch.Mean:
		return nil
	case weighted:
		return errors.New("people are weighted in means alone: leave out the weights or the centre")
	case people < c.Least():
		return fmt.Errorf("the %s of %d people is their mean: expected %d or more, or leave the centre out",
			CentreWords(c), people, c.Least())
	}
	return nil
}

// differencesOf are right minus left of a difference of two averages: of
// centres other than means that of the parts' own.
func differencesOf(d, a, b *Average) Pairs {
	pairs := pairMeans(d.Sites, d.Mean)
	if d.Info.Centre != "" && len(a.Pairs.Mean) == len(pairs.Mean) && len(b.Pairs.Mean) == len(pairs.Mean) &&
		len(pairs.Mean) > 0 {
		pairs.Mean = combineRows(a.Pairs.Mean, b.Pairs.Mean, func(x, y float64) float64 { return x - y })
	}
	return pairs
}

package contrast

import (
	"fmt"
	"strings"

	"calotte/topo/unit"
)

// ExtentCaution is what the p of a cluster does not say.
const ExtentCaution = "A cluster's p says that the two differ somewhere, not where or from when to when: its extent " +
	"is not tested (Sassenhagen & Draschkow 2019)."

// Caution is what the p of this test do not say, whether it was declared, and
// how many averages rest on few epochs.
func (c *Compared) Caution() string {
	parts := []string{c.correctionCaution()}
	if c.Declaration != "" {
		parts = append(parts, c.Declaration)
	}
	if c.Few > 0 {
		parts = append(parts, fmt.Sprintf("Few epochs: fewer than 15 in %d averages of people.", c.Few))
	}
	return strings.Join(parts, " ")
}

func (c *Compared) correctionCaution() string {
	return [...]string{
		ByClusters: ExtentCaution,
		ByLargest:  "p* of single points: by the largest |t|.",
		ByRate:     "p* of single points: by the false discovery rate.",
		ByEnhancement: "p* of single points: by threshold-free enhancement, in which neighbours lend " +
			"weight to a " +
			"point: the edges of what is shown are not sharp.",
	}[c.correct]
}

// Lines say what was found in a few lines: who was compared, the largest
// clusters, what it means in words, and how it was tested.
func (c *Compared) Lines() []string {
	lines := []string{c.Title + ": " + c.Matching}
	const most = 5
	for k, cluster := range c.Clusters[:min(most, len(c.Clusters))] {
		lines = append(lines, fmt.Sprintf("  cluster %d   %s   %s to %s   %s   largest t %s at %s, %s   p* %.2g",
			k+1,
			cluster.Sign(),
			Millis(cluster.From), Millis(cluster.To), sitesIn(len(cluster.Sites)), Signed(cluster.Peak.T),
			cluster.Peak.Site, Millis(cluster.Peak.Time), cluster.P))
	}
	if more := len(c.Clusters) - most; more > 0 {
		lines = append(lines, fmt.Sprintf("  and %d smaller", more))
	}
	lines = append(lines, "In words: "+c.Words(), c.testWords())
	if c.correct == ByClusters {
		lines = append(lines, ExtentCaution)
	}
	if c.Declaration != "" {
		lines = append(lines, c.Declaration)
	}
	return lines
}

// Words say whether the two are shown to differ.
func (c *Compared) Words() string {
	switch {
	case len(c.Clusters) == 0 && c.correct == ByClusters:
		return "no point reaches the level, so there is no cluster."
	case len(c.Clusters) > 0 && c.Clusters[0].Shown():
		return fmt.Sprintf("%s and %s differ.", c.Titles[0], c.Titles[1])
	}
	return fmt.Sprintf("this test does not show that %s and %s differ.", c.Titles[0], c.Titles[1])
}

// Sentences say what was found in a line, with the strongest point, and whether
// the test was declared.
func (c *Compared) Sentences() []string {
	text := fmt.Sprintf("%s, %s to %s: %s", c.Title, Millis(c.Times[0]), Millis(c.Times[len(c.Times)-1]),
		strings.TrimSuffix(c.Words(), "."))
	if len(c.Clusters) > 0 {
		k := c.Clusters[0]
		text += fmt.Sprintf(" (t %s at %s, %s, p* %.2g)", Signed(k.Peak.T), k.Peak.Site, Millis(k.Peak.Time), k.P)
	}
	return []string{text + ". " + c.Declaration}
}

// testWords say how it was tested.
func (c *Compared) testWords() string {
	kind := fmt.Sprintf("%d arrangements drawn, seed %d", c.options.Arrangements, c.options.Seed)
	if c.design.Exact(c.options) {
		kind = "all arrangements"
	}
	rule := [...]string{
		ByClusters: fmt.Sprintf("by the largest cluster of |t| above %.3f", c.Threshold),
		ByLargest:  "of single points, by the largest |t|; a cluster here is points of 0.05 or less",
		ByRate: "of single points, by the false discovery rate (Benjamini & Hochberg 1995); a cluster here is " +
			"points of 0.05 or less",
		ByEnhancement: "of single points, by threshold-free enhancement (Smith & Nichols 2009; E 0.5, H " +
			"2) and the " +
			"largest of it; a cluster here is points of 0.05 or less",
	}[c.correct]
	return fmt.Sprintf("p*: %s, over %s and %s to %s; %s; the smallest p they allow is %.2g.",
		rule, sitesIn(len(c.Sites)), Millis(c.Times[0]), Millis(c.Times[len(c.Times)-1]), kind,
		c.design.SmallestP(c.options))
}

func sitesIn(n int) string {
	if n == 1 {
		return "1 site"
	}
	return fmt.Sprintf("%d sites", n)
}

// Millis is a time in s as people read it: "170 ms".
func Millis(s float64) string {
	return unit.At(unit.Time(s)).Label()
}

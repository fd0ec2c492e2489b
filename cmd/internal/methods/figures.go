package methods

import (
	"fmt"
	"slices"
	"strings"

	"calotte/topo/provenance"
	"calotte/topo/unit"
)

// latenciesInWords writes 170ms as 170 ms and 150..190ms as 150–190 ms.
func latenciesInWords(texts []string) []string {
	var out []string
	for _, t := range texts {
		var l unit.Latency
		if l.Set(t) == nil {
			t = l.Label()
		}
		out = append(out, t)
	}
	return out
}

// drawn tells of the maps.
func (a Account) drawn() string {
	var s, orders, latencies []string
	for _, f := range a.drawings() {
		orders = appendNew(orders,
			fmt.Sprintf("of order %s with λ = %s", f.Settings["spline-order"],
				f.Settings["spline-smoothing"]))
		latencies = appendNew(latencies, strings.Split(f.Settings["at"], ",")...)
		if f.Settings["field"] == "csd" {
			s = appendNew(s, "Current source density is an estimate from the surface Laplacian of "+
				"the spline; "+
				"sources are positive.")
		}
	}
	if orders == nil {
		return ""
	}
	return strings.Join(append([]string{fmt.Sprintf("Fields between the electrodes are spherical splines "+
		"%s (Perrin "+
		"et al. 1989, with the corrections of 1990) at %s%s.",
		strings.Join(orders, " and "), strings.Join(latenciesInWords(latencies), ", "),
		a.chosen(a.drawings()))},
		append(s,
			"A map is an interpolation: where the error of the interpolation, by the roughness of the "+
				"measured field (restricted likelihood, spherical kernel of order 2), exceeds "+
				"an eighth of "+
				"the largest measured magnitude, it is hatched, and where it exceeds a third, or "+
				"beyond the "+
				"electrodes, nothing is drawn. The side that is larger on the scalp need not be "+
				"the side that "+
				"is active in the brain.")...), " ")
}

// of are the figures and tables that some verbs made.
func (a Account) of(works ...string) []provenance.Record {
	var out []provenance.Record
	for _, f := range a.Figures {
		if slices.Contains(works, f.Work) {
			out = append(out, f)
		}
	}
	return out
}

func (a Account) drawings() []provenance.Record { return a.of("map", "values") }

// chosen says how windows or latencies were chosen.
func (a Account) chosen(figures []provenance.Record) string {
	var files []string
	for _, f := range figures {
		if f.Settings["windows"] == "" {
			return " [chosen before looking at the data?]"
		}
		files = appendNew(files, f.Settings["windows"])
	}
	return " (declared in " + strings.Join(files, ", ") + ")"
}

// declared reports whether all windows come from files.
func (a Account) declared() bool {
	figures := a.of("map", "values", "components", "asymmetry")
	return len(figures) > 0 && !strings.Contains(a.chosen(figures), "[")
}

// measured tells of components.
func (a Account) measured() string {
	figures := a.of("components")
	if len(figures) == 0 {
		return ""
	}
	f := figures[0].Settings
	return fmt.Sprintf("Amplitudes are means over windows%s; peaks are the largest local extrema, above "+
		"the mean of "+
		"the 12 ms on each side, refined by a parabola; onsets lie where the wave, backwards from "+
		"the peak, has "+
		"fallen to %s of it; area latencies where %s of the area of the polarity is reached. "+
		"Standard errors of "+
		"latencies are from the jackknife (Miller et al. 1998).",
		a.chosen(figures), f["onset"], f["fraction"])
}

// placed tells how placement went into intervals; empty where it did not.
func placed(f provenance.Record) string {
	how := f.Settings["placement"]
	if how == "" {
		return ""
	}
	if rest, ok := strings.CutPrefix(how, "checked"); ok {
		how = "as each person's cap check found it"
		if assumed := strings.TrimPrefix(rest, ","); assumed != "" {
			how += ", where there was none by " + assumed
		}
	} else {
		how = "by " + how
	}
	if shared := f.Settings["placement-shared"]; shared != "" {
		how += ", and all of a group alike by " + shared
	}
	return fmt.Sprintf(" Caps were taken to sit off %s (standard deviations at the ring, about each axis): "+
		"differences "+
		"are those at the ideal sites, and intervals hold the error of interpolation and of placement, "+
		"of a group "+
		"what its caps share.", how)
}

// tested tells of tests.
func (a Account) tested() string {
	var s []string
	if figures := a.of("asymmetry"); len(figures) > 0 {
		f := figures[0]
		text := "Right minus left was taken at mirrored sites"
		if f.Settings["contralateral"] == "true" {
			text = "Contralateral minus ipsilateral to the stimulus was taken at mirrored sites"
		}
		s = append(s, fmt.Sprintf("%s at %s%s, with 95 %% intervals of the mean by t. p is by sign flips (%s), "+
			"corrected over the pairs of a latency by the largest t (Nichols & Holmes 2002). What a "+
			"crooked cap would change was read from the spline at turned sites, and the smallest turn that "+
			"explains a difference was looked for in all directions, up to 15 mm at the ring.%s",
			text, strings.Join(latenciesInWords(strings.Split(f.Settings["at"], ",")), ", "),
			a.chosen(figures),
			arrangements(f), placed(f)))
	}
	if text := a.crossed(); text != "" {
		s = append(s, text)
	}
	if figures := a.of("compare"); len(figures) > 0 {
		s = append(s, compared(figures[0]))
		if declaration := figures[0].Settings["declaration"]; declaration != "" {
			s = append(s, declaration)
		}
	}
	return strings.Join(s, " ")
}

// compared says how two conditions or groups were compared.
func compared(f provenance.Record) string {
	if rule, ok := map[string]string{"largest": "by the largest |t| (Nichols & Holmes 2002)",
		"enhanced": "by the largest value of threshold-free enhancement (Smith & Nichols 2009; E = 0.5, H = 2), " +
			"over neighbours of a spherical Delaunay triangulation and in time, signs apart",
		"fdr": "by the false discovery rate (Benjamini & Hochberg 1995)"}[f.Settings["correct"]]; ok {
		return fmt.Sprintf("Differences at each site and sample were tested by permutation (%s), corrected over "+
			"all of them %s.", arrangements(f), rule)
	}
	return fmt.Sprintf("Differences over sites and time were tested by permutation of clusters (Maris & Oostenveld "+
		"2007): points with a two-sided p below %s joined with neighbours of a spherical Delaunay triangulation "+
		"and in time, signs apart; the sum of t against the largest of each arrangement (%s). A cluster's extent "+
		"is not tested (Sassenhagen & Draschkow 2019).", f.Settings["level"], arrangements(f))
}

// arrangements tells which were gone through.
func arrangements(f provenance.Record) string {
	return fmt.Sprintf("all of them where they were no more than %s, else so many drawn at random, seed %s",
		f.Settings["arrangements"], f.Settings["seed"])
}

// crossed tells of the tests of two factors; empty where there was none.
func (a Account) crossed() string {
	var both []string
	var last provenance.Record
	groups := false
	for _, f := range a.of("components") {
		one, other, two := strings.Cut(f.Settings["difference"], ",")
		if !two {
			continue
		}
		both, last, groups = appendNew(both, one+" and "+other), f, groups || other == "groups"
	}
	if both == nil {
		return ""
	}
	text := fmt.Sprintf("Two factors (%s) were crossed in each person's own scores, of people who have all "+
		"cells. The interaction is the difference of the differences; main effects are averaged over the "+
		"other factor, simple effects are at one level of it. Intervals (95 %%) are by t over people, of "+
		"latencies too, and p is by flipping the sign of each person's own difference (%s), without "+
		"correction for several windows, places and scores.", strings.Join(both, "; "), arrangements(last))
	if groups {
		text += " Between groups intervals are Welch's (1947), and p is by exchanging people between the " +
			"groups, as many ways, with t in which each group has its own variance (Chung & Romano 2013)."
	}
	return text
}

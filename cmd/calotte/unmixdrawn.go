package main

import (
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strings"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/wearer"
	"calotte/layout"
	"calotte/render/canvas"
	"calotte/render/unmixed"
	"calotte/topo/erp"
	"calotte/topo/erp/unmix"
)

// unmixedPages are the sheets of the components, and the data before and after
// what is suggested.
func unmixedPages(file *unmix.File, found *erp.Unmixed, head *wearer.Head, conditions []erp.Condition,
	synthetic bool) ([]canvas.Figure, error) {
	sheet := &unmixed.Sheet{Name: file.Name, Head: head.Model, Synthetic: synthetic, Caption: unmixedCaption(file)}
	var mapped []int
	for i, name := range file.Rows[:len(found.Sites)] {
		if placed, err := layout.Place(head.Surface, []layout.Name{layout.Name(name)}); err == nil {
			sheet.Sites = append(sheet.Sites, layout.Sites(placed)...)
			mapped = append(mapped, i)
		}
	}
	if found.Courses != nil {
		sheet.Times = found.Courses.Times
		for k, c := range conditions {
			sheet.Conditions = append(sheet.Conditions,
				fmt.Sprintf("%s (%d)", c.Name, found.Courses.Numbers[k]))
		}
	}
	for k := range file.Components {
		sheet.Rows = append(sheet.Rows, unmixedRow(file, found, k, mapped))
	}
	pages, err := sheet.Pages()
	if err != nil {
		return nil, err
	}
	decisions := suggested(file)
	change := found.Change(file, decisions)
	removal := erp.Removal{File: file, Decisions: decisions}
	page, err := (&unmixed.Change{Name: file.Name, Sites: change.Sites, Times: change.Times, Before: change.Before,
		After: change.After, Synthetic: synthetic,
		Caption: fmt.Sprintf("µV over s, from %.1f s of %s; grey: before, "+
			"black: after taking out, as suggested, %s. The electrodes that change most here. %s "+
			"Recorded reference.",
			change.At.Onset, change.At.Source, removal.Account(), file.Filter)}).Compose()
	return append(pages, page), err
}

// suggested are the decisions that the table holds before anybody edits it.
func suggested(file *unmix.File) []unmix.Decision {
	var list []unmix.Decision
	for _, c := range file.Components {
		list = append(list, unmix.Decision{Component: c.Component, Looks: c.Looks, Remove: c.Remove})
	}
	return list
}

func unmixedCaption(file *unmix.File) string {
	text := fmt.Sprintf("Courses are in µV at the site named; each map has its own scale; the power is "+
		"the mean over "+
		"sites. In bold what is suggested to be removed; the decision is that of the table beside this sheet. "+
		"Correlations with the eyes are with %s", orNothing(file.Vertical))
	if file.Horizontal != "" {
		text += " and " + file.Horizontal
	}
	text += "."
	for _, b := range file.LeftOut {
		text += fmt.Sprintf(" %s was left out (%s).", b.Site, b.Reason)
	}
	return text
}

func orNothing(text string) string {
	if text == "" {
		return "nothing, as no site is near them"
	}
	return text
}

// unmixedRow is one component as it is drawn.
func unmixedRow(file *unmix.File, found *erp.Unmixed, k int, mapped []int) unmixed.Row {
	c, t := file.Components[k], found.Traits[k]
	size := file.Maps[k][t.Row] // µV at its site
	row := unmixed.Row{Title: fmt.Sprintf("%d %s", c.Component, c.Looks), Remove: c.Remove, Site: c.LargestAt,
		Lines: []string{
			fmt.Sprintf("%.1f %% of the power; µV at %s", c.Variance, c.LargestAt),
			fmt.Sprintf("eyes: blink %s, sideways %s", figures(c.Blink), figures(c.Sideways)),
			fmt.Sprintf("share at the front %s", figures(c.Front)),
			fmt.Sprintf("above 20 Hz %s, slope %s", figures(c.Fast), figures(c.Slope)),
			fmt.Sprintf("rhythm %s, mains %s", figures(c.Rhythm), figures(c.Mains)),
			fmt.Sprintf("kurtosis of the map %s", figures(c.Kurtosis)),
		}}
	for _, i := range mapped {
		row.Map = append(row.Map, file.Maps[k][i])
	}
	for _, p := range t.Spectrum {
		row.Spectrum = append(row.Spectrum, p/float64(len(file.Rows)))
	}
	if found.Courses != nil {
		for _, means := range found.Courses.Means {
			row.Courses = append(row.Courses, scaled(means[k], size))
		}
	}
	y, n := found.Activation(k, found.Watched.Data), int(math.Round(found.Rate))
	for _, at := range t.Strong {
		from := max(0, min(at-n/2, len(y)-n))
		row.Pieces = append(row.Pieces, scaled(y[from:from+n], size))
	}
	return row
}

// figures is a number with two decimals.
func figures(x *float64) string {
	if x == nil {
		return "n/a"
	}
	return strings.Replace(fmt.Sprintf("%.2f", *x), "-", "−", 1)
}

func scaled(values []float64, by float64) []float64 {
	out := make([]float64, len(values))
	for i, x := range values {
		out[i] = by * x
	}
	return out
}

// unmixWarnings say what a person should act on.
func unmixWarnings(found *erp.Unmixed, file *unmix.File) []string {
	var list []string
	if !found.Reached {
		list = append(list, fmt.Sprintf("the components are not at rest: the gradient is %.2g after %d steps, "+
			"expected %.2g: leave out the worst stretches, or ask for fewer by --dimensions", found.Gradient,
			found.Steps,
			found.Wanted))
	}
	if found.Few() {
		list = append(list, fmt.Sprintf("%d samples are few for %d components, expected %d or more (20 "+
			"times their "+
			"square): add recordings, or ask for fewer by --dimensions", found.Samples,
			len(file.Components),
			20*len(file.Components)*len(file.Components)))
	}
	if found.Gross > 0 {
		list = append(list, fmt.Sprintf("%s left out as gross, of %d", console.Plural(found.Gross, "second was",
			"seconds were"), found.Gross+found.Seconds))
	}
	for _, b := range file.LeftOut {
		list = append(list, fmt.Sprintf("%s is left out (%s): repair it when you average, --repair %s", b.Site,
			b.Reason,
			b.Site))
	}
	return list
}

// reportUnmixed says what was found and what to do next.
func reportUnmixed(w io.Writer, stem string, file *unmix.File) {
	removal := erp.Removal{File: file, Decisions: suggested(file)}
	console.Say(w, "%s: %d components of %d sites, from %d s at %g Hz; gradient %.2g after %d steps\n", file.Name,
		len(file.Components), len(file.Rows), file.Seconds, file.Rate, file.Gradient, file.Steps)
	console.Say(w, "  suggested to be taken out: %s\n", removal.Account())
	console.Say(w, "  → %s, %s\n", stem+decisionsEnding, filepath.Base(stem+sheetEnding))
	console.Say(w, "next: look at %s, change yes and no in %s, then calotte average … --unmix %s\n",
		stem+sheetEnding,
		stem+decisionsEnding, stem+decisionsEnding)
}

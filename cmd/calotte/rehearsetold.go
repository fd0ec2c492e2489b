package main

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/cmd/internal/figure"
	"calotte/render/chart"
	"calotte/topo/inference"
	"calotte/topo/rehearse"
)

// rehearsedColumns are those of the table; a row is a design, an effect and a
// reading.
var rehearsedColumns = strings.Fields("people epochs effect_uV reading planted_uV found rehearsals share low high " +
	"bias_uV error_uV covered smallest_found_by_80_percent_uV")

// cells are the rows of the table.
func (r *rehearsing) cells() [][]string {
	var rows [][]string
	readings := []string{r.noise.Place}
	if r.noise.Pair != "" {
		readings = append(readings, r.noise.Pair+": right minus left")
	}
	for _, d := range r.found {
		for k, with := range append([][]rehearse.Outcome{d.none}, d.with...) {
			size := 0.
			if k > 0 {
				size = float64(r.effects[k-1])
			}
			if r.whole {
				share, low, high := r.share(d.whole[k])
				rows = append(rows, []string{strconv.Itoa(d.People), strconv.Itoa(d.Epochs), decimals(size, 3),
					r.tested(), decimals(size, 3), strconv.Itoa(d.whole[k]), strconv.Itoa(r.rehearsals),
					decimals(share, 4), decimals(low, 4), decimals(high, 4), "n/a", "n/a", "n/a", "n/a"})
			}
			for j, o := range with {
				share, low, high := r.share(o.Found)
				smallest := "n/a"
				if j == 0 && !math.IsInf(d.smallest, 1) {
					smallest = decimals(d.smallest, 2)
				}
				rows = append(rows, []string{strconv.Itoa(d.People), strconv.Itoa(d.Epochs), decimals(size, 3),
					readings[j], decimals(size*r.noise.Study.Effect[j], 3), strconv.Itoa(o.Found),
					strconv.Itoa(r.rehearsals), decimals(share, 4), decimals(low, 4), decimals(high, 4),
					decimals(o.Bias, 4), decimals(o.Error, 4),
					decimals(float64(o.Covered)/float64(r.rehearsals), 4), smallest})
			}
		}
	}
	return rows
}

// tested names the recipe's test.
func (r *rehearsing) tested() string {
	text := "compare, " + r.test.Correct.String()
	if r.test.During != nil {
		text += " over " + r.test.During.String()
	}
	return text
}

// share is that of the rehearsals, with its 95 % interval.
func (r *rehearsing) share(found int) (share, low, high float64) {
	low, high = inference.Wilson(found, r.rehearsals, .95)
	return float64(found) / float64(r.rehearsals), low, high
}

// percent is a share in words.
func (r *rehearsing) percent(found int) string {
	share, low, high := r.share(found)
	return fmt.Sprintf("%.1f %% [%.1f, %.1f]", 100*share, 100*low, 100*high)
}

// words say what each design comes to.
func (r *rehearsing) words() []string {
	lines := []string{fmt.Sprintf("%s, on the noise of %s, %d rehearsals each:", r.title(),
		console.Plural(len(r.noise.Study.People), "person", "people"), r.rehearsals)}
	for _, d := range r.found {
		var powers []string
		for k, size := range r.effects {
			powers = append(powers, fmt.Sprintf("%g µV in %s", float64(size), r.percent(d.with[k][0].Found)))
		}
		line := fmt.Sprintf("with %d people and %d epochs a condition this finds %s; without an effect in %s; 80 %% "+
			"find %s", d.People, d.Epochs, strings.Join(powers, ", "), r.percent(d.none[0].Found),
			smallestInWords(d.smallest))
		if r.noise.Pair != "" {
			o := d.with[len(d.with)-1][1]
			line += fmt.Sprintf("; at %s right minus left of the difference is off by %s ± %.2f µV, its intervals hold "+
				"%.1f %%", r.noise.Pair, signedMicrovolts(o.Bias), o.Error, 100*float64(o.Covered)/float64(r.rehearsals))
		}
		lines = append(lines, line+".")
		if r.whole {
			powers = nil
			for k, size := range r.effects {
				powers = append(powers, fmt.Sprintf("%g µV in %s", float64(size), r.percent(d.whole[k+1])))
			}
			lines = append(lines, fmt.Sprintf("  the recipe's test (%s) finds %s; without an effect in %s.", r.tested(),
				strings.Join(powers, ", "), r.percent(d.whole[0])))
		}
	}
	return lines
}

func signedMicrovolts(v float64) string {
	return strings.Replace(fmt.Sprintf("%+.2f", v), "-", "−", 1)
}

// remarks say what the rehearsals leave out.
func (r *rehearsing) remarks() []string {
	remark := fmt.Sprintf("People's effects are taken to differ by a standard deviation of %g µV (--between-sd): say in "+
		"the plan where that comes from.", float64(r.between))
	if r.between == 0 {
		remark = "People's effects are taken to be alike, which no study's are: --between-sd adds how they differ, and " +
			"more people are needed then."
	}
	source := "The effect is that of a source beneath the site."
	if r.like != "" {
		source = "The effect has the map of a measured difference."
	}
	return append([]string{remark, source + " " + r.windows.Remark("Window")}, r.leftOut...)
}

// draw draws power over people, a curve for each number of epochs, of the
// effect in the middle of those that are planted.
func (r *rehearsing) draw(out *disk.Files) error {
	k := len(r.effects) / 2
	picture := &chart.Shares{Title: fmt.Sprintf("How often %g µV is found: %s", float64(r.effects[k]), r.title()),
		X: "people", Level: usualPower, Width: r.figure.Points(), Caption: r.caption()}
	for _, n := range r.people {
		picture.At = append(picture.At, float64(n))
	}
	for e, epochs := range r.epochs {
		curve := chart.Share{Name: fmt.Sprintf("%d epochs a condition", epochs)}
		for p := range r.people {
			share, low, high := r.share(r.found[p*len(r.epochs)+e].with[k][0].Found)
			curve.Value, curve.Low, curve.High = append(curve.Value, share), append(curve.Low, low),
				append(curve.High, high)
		}
		picture.Curves = append(picture.Curves, curve)
	}
	plate, err := picture.Compose()
	if err != nil {
		return err
	}
	return r.figure.Deliver(r.command.Context(), out, plate, r.made(),
		figure.TableOf("rehearsals", rehearsedColumns, r.cells()))
}

func (r *rehearsing) caption() string {
	synthetic := ""
	if r.noise.Synthetic {
		synthetic = "Synthetic data. "
	}
	return fmt.Sprintf("%s%d rehearsals a point on the noise of %s, tested by sign flips at p 0.05; whiskers: 95 %% "+
		"intervals (Wilson). Dashed: 80 %%. %s", synthetic, r.rehearsals,
		console.Plural(len(r.noise.Study.People), "person", "people"), strings.Join(r.remarks(), " "))
}

// smallestInWords is a size of effect as people read it.
func smallestInWords(size float64) string {
	if math.IsInf(size, 1) {
		return "none below 1 mV"
	}
	return fmt.Sprintf("%.2f µV", size)
}

// sizes are the numbers of people and epochs that are rehearsed.
func (r *rehearsing) sizes() error {
	n := len(r.noise.Study.People)
	if r.people == nil {
		r.people = []int{max(2, n), 2 * max(2, n)}
	}
	if r.epochs == nil {
		var counts []int
		for _, p := range r.noise.Study.People {
			counts = append(counts, len(p.Epochs)/2)
		}
		slices.Sort(counts)
		r.epochs = []int{max(1, counts[n/2]/2), counts[n/2]}
	}
	slices.Sort(r.people)
	slices.Sort(r.epochs)
	r.people, r.epochs = slices.Compact(r.people), slices.Compact(r.epochs)
	sum := func(list []int) int {
		total := 0
		for _, n := range list {
			total += n
		}
		return total
	}
	return r.app.bounded(mostRehearsed, sum(r.people), sum(r.epochs), 2*r.rehearsals)
}

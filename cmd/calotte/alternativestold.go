package main

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"calotte/cmd/internal/disk"
	"calotte/cmd/internal/figure"
	"calotte/render/chart"
	"calotte/topo/contrast"
	"calotte/topo/provenance"
)

// title says what is taken in all ways.
func (r *choosing) title() string {
	return fmt.Sprintf("%s minus %s in %d ways", r.conditions[0], r.conditions[1], contrast.Ways(r.choices))
}

// columns are those of the table: the options of each choice, then the numbers.
func (r *choosing) columns() []string {
	out := []string{"way"}
	for _, c := range r.choices {
		out = append(out, strings.ReplaceAll(c.Name, "-", "_"))
	}
	return append(out, "difference_uV", "low", "high", "p", "people")
}

// cells are the rows of the table, the smallest difference first.
func (r *choosing) cells() [][]string {
	var rows [][]string
	for _, w := range r.found.Ways {
		row := []string{strconv.Itoa(w.Way + 1)}
		for k, o := range w.Options {
			row = append(row, r.choices[k].Options[o])
		}
		rows = append(rows, append(row, decimals(w.Mean, 4), decimals(w.Low, 4), decimals(w.High, 4),
			decimals(w.P, 6), strconv.Itoa(r.found.People)))
	}
	return rows
}

// words say what all ways come to, and what each choice moves.
func (r *choosing) words() []string {
	ways, joint := r.found.Ways, r.found.Joint
	below := 0
	for _, w := range ways {
		if w.P <= contrast.Alpha {
			below++
		}
	}
	lines := []string{
		fmt.Sprintf("%s, %d people: the median is %s µV, p %.2g, from %s to %s.", r.title(), r.found.People,
			contrast.Signed(joint.Median), joint.MedianP, contrast.Signed(ways[0].Mean),
			contrast.Signed(ways[len(ways)-1].Mean)),
		fmt.Sprintf("%d of %d ways reach 0.05 by themselves; by t %.0f %% do on one side, p %.2g.", below, len(ways),
			100*joint.Share, joint.ShareP),
	}
	var moves []string
	for _, k := range r.byMove() {
		if len(r.choices[k].Options) > 1 {
			moves = append(moves, fmt.Sprintf("%s %.2f µV", r.choices[k].Name, r.found.Moves[k]))
		}
	}
	lines = append(lines, "What each choice moves, the others averaged over: "+strings.Join(moves, ", ")+".")
	for _, name := range slices.Sorted(maps.Keys(r.left)) {
		lines = append(lines, fmt.Sprintf("Left out of all ways: %s, since in one %s.", name, r.left[name]))
	}
	return append(lines, "p are by flipping each person's sign in all ways at once. That ways agree makes none of them "+
		"right.")
}

// byMove are the choices, that which moves most first.
func (r *choosing) byMove() []int {
	order := make([]int, len(r.choices))
	for k := range order {
		order[k] = k
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case r.found.Moves[a] > r.found.Moves[b]:
			return -1
		case r.found.Moves[a] < r.found.Moves[b]:
			return 1
		}
		return 0
	})
	return order
}

// made says how, and out of which recordings.
func (r *choosing) made() provenance.Record {
	var sources []provenance.Source
	for _, key := range slices.Sorted(maps.Keys(r.sources)) {
		sources = append(sources, r.sources[key])
	}
	made := r.app.Provenance(r.command, sources)
	for _, c := range r.choices {
		made.Settings["alternatives "+c.Name] = strings.Join(c.Options, " ")
	}
	return made
}

// draw draws all ways, the smallest difference first, over what each chose.
func (r *choosing) draw(out *disk.Files) error {
	picture := &chart.Ways{Title: r.title(), Width: r.figure.Points(), Caption: r.caption(),
		Unit: fmt.Sprintf("%s minus %s, µV", r.conditions[0], r.conditions[1])}
	for _, c := range r.choices {
		picture.Choices = append(picture.Choices, chart.WayChoice(c))
	}
	for _, w := range r.found.Ways {
		picture.Ways = append(picture.Ways, chart.Way{Value: w.Mean, Low: w.Low, High: w.High, Options: w.Options,
			Strong: w.P <= contrast.Alpha, Marked: w.Way == 0})
	}
	plate, err := picture.Compose()
	if err != nil {
		return err
	}
	return r.figure.Deliver(r.command.Context(), out, plate, r.made(), figure.TableOf("ways", r.columns(), r.cells()))
}

func (r *choosing) caption() string {
	synthetic := ""
	if r.synthetic {
		synthetic = "Synthetic data. "
	}
	return synthetic + "Whiskers: 95 % intervals of the mean by t; full dots: p 0.05 or less of that way by itself, by " +
		"sign flips; ring: the first value of each choice. " + strings.Join(r.words(), " ")
}

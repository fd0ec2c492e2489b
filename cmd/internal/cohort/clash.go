package cohort

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"
)

// checkClashes refuses the recipe, and files that it names, in the place of
// what a run writes. A task may read what those of a stage before it have made.
func (p *Plan) checkClashes() error {
	if name, in := p.inResults(p.Path); in {
		if who, _ := writerOf(p.stages(), name); who != "" {
			return fmt.Errorf("%s lies where %s writes a file of its own: choose another folder for "+
				"the results",
				p.Path, who)
		}
	}
	for _, path := range p.named() {
		name, in := p.inResults(path)
		if !in {
			continue
		}
		stages := p.stages()
		who, written := writerOf(stages, name)
		for _, t := range slices.Concat(stages[:min(written+1, len(stages))]...) {
			if slices.Contains(t.Inputs, path) {
				return fmt.Errorf("%s: %s is for %s to read, and %s writes it, not before that: "+
					"choose another file",
					p.Path, path, t.ID, who)
			}
		}
	}
	return nil
}

// stages are the tasks of the people, and those of the group stage by stage.
func (p *Plan) stages() [][]Task {
	var people []Task
	for _, x := range p.People {
		people = append(people, p.OfPerson(x)...)
	}
	return append([][]Task{people}, p.OfGroup(p.Names())...)
}

// writerOf is who writes a file of the results, and the number of the stage in
// which that is done; -1 where nobody does. Case does not tell names apart, as
// it does not on every system.
func writerOf(stages [][]Task, name string) (who string, stage int) {
	name = strings.ToLower(name)
	fits := func(outputs []string) bool {
		return slices.ContainsFunc(outputShapes(outputs...), func(s shape) bool {
			return shape{begins: strings.ToLower(s.begins), many: s.many}.fits(name)
		})
	}
	if fits(reports.Outputs) || strings.HasPrefix(name, statusFolder+"/") {
		return "a run", len(stages) // after all of them
	}
	for k, tasks := range stages {
		for _, t := range tasks {
			if fits(t.Outputs) {
				return t.ID, k
			}
		}
	}
	return "", -1
}

// inResults is a path as seen from the results, where it, or what its links
// lead to, lies there.
func (p *Plan) inResults(path string) (name string, in bool) {
	for _, way := range [][2]string{{p.Dir, path}, {real(p.Dir), real(path)}} {
		if name, in = inside(way[0], way[1]); in {
			break
		}
	}
	return name, in
}

// inside is a path as seen from a folder, with slashes, where it lies in it.
func inside(dir, path string) (name string, in bool) {
	from, err := filepath.Abs(dir)
	if err != nil {
		return "", false
	}
	to, err := filepath.Abs(path)
	if err != nil {
		return "", false
	}
	name, err = filepath.Rel(from, to)
	return filepath.ToSlash(name), err == nil && filepath.IsLocal(name)
}

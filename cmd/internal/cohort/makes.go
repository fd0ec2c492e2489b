package cohort

import "strings"

// A shape is names of files in a folder of the results: one name, or all that
// begin and end alike.
type shape struct {
	begins, ends string
	many         bool
}

func (s shape) fits(name string) bool {
	if !s.many {
		return name == s.begins
	}
	rest, begins := strings.CutPrefix(name, s.begins)
	rest, ends := strings.CutSuffix(rest, s.ends)
	return begins && ends && !strings.Contains(rest, "/")
}

// shapesOf are the names that a task's files can have, by its ID alone: a
// record may be of an earlier recipe, with other conditions.
func shapesOf(id string) []shape {
	verb, name, _ := strings.Cut(id, " ")
	switch {
	case verb == "average":
		return averageShapes(name + "/" + name)
	case verb == "combine":
		return averageShapes(GroupFolder + "/" + name)
	case verb == "capcheck":
		return outputShapes(name + "/" + name + capSuffix)
	case id == reports.ID:
		return outputShapes(reports.Outputs...)
	case endings[verb] != nil && !strings.EqualFold(name, IndexPage):
		return outputShapes(outputsOf(folderOf(item{verb: verb, name: name}), name)...)
	}
	return nil
}

// averageShapes are those of the averages whose names begin alike.
func averageShapes(begins string) []shape {
	var shapes []shape
	for _, suffix := range averageSuffixes {
		shapes = append(shapes, shape{begins + "_", suffix, true}, shape{begins: begins + suffix})
	}
	return shapes
}

// outputShapes are the outputs of a task.
func outputShapes(outputs ...string) []shape {
	var shapes []shape
	for _, name := range outputs {
		prefix, many := strings.CutSuffix(name, "*")
		shapes = append(shapes, shape{begins: prefix, many: many})
	}
	return shapes
}

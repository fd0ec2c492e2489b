package guide

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"calotte/render/canvas"
)

// A printedStrip is one piece as its SVG shows it, in mm of the page.
type printedStrip struct {
	arc   string
	piece int
	edge  []r2.Vec
	marks map[string]r2.Vec // where each mark meets the edge
	order []string
	joint *r2.Vec // where the next piece begins
}

// readStrips finds the pieces in the SVG files of the pages.
func readStrips(t testing.TB, figures []canvas.Figure) []printedStrip {
	t.Helper()
	var list []printedStrip
	for _, f := range figures {
		d := xml.NewDecoder(bytes.NewReader(written(t, f, canvas.SVG)))
		var groups []string
		for {
			token, err := d.Token()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				t.Fatal(err)
			}
			switch e := token.(type) {
			case xml.StartElement:
				id := attribute(e, "id")
				if e.Name.Local == "g" {
					groups = append(groups, id)
					if name, ok := strings.CutPrefix(id, "strip-"); ok {
						at := strings.LastIndex(name, "-")
						number, _ := strconv.Atoi(name[at+1:])
						list = append(list, printedStrip{arc: name[:at], piece: number,
							marks: map[string]r2.Vec{}})
					}
				}
				if e.Name.Local != "path" || len(groups) == 0 || len(list) == 0 {
					continue
				}
				s, inside := &list[len(list)-1], groups[len(groups)-1]
				points := pathPoints(attribute(e, "d"))
				switch {
				case strings.HasPrefix(inside, "edge"):
					s.edge = points
				case strings.HasPrefix(inside, "mark-"):
					name := strings.Split(strings.TrimPrefix(inside, "mark-"), "-")[0]
					s.marks[name], s.order = points[0], append(s.order, name)
				case strings.HasPrefix(inside, "strip-") && attribute(e, "stroke-dasharray") != "":
					s.joint = &points[0]
				}
			case xml.EndElement:
				if e.Name.Local == "g" {
					groups = groups[:len(groups)-1]
				}
			}
		}
	}
	return list
}

func attribute(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// pathPoints reads "M1 2l3-4 5 6" into mm.
func pathPoints(d string) []r2.Vec {
	var numbers []float64
	for i := 0; i < len(d); {
		k := i
		if strings.ContainsRune("-.0123456789", rune(d[i])) {
			for k++; k < len(d) && strings.ContainsRune(".0123456789", rune(d[k])); k++ {
			}
			v, _ := strconv.ParseFloat(d[i:k], 64)
			numbers = append(numbers, v*25.4/72)
			i = k
			continue
		}
		i++
	}
	var points []r2.Vec
	at := r2.Vec{}
	for i := 0; i+1 < len(numbers); i += 2 {
		at = r2.Add(at, r2.Vec{X: numbers[i], Y: numbers[i+1]})
		points = append(points, at)
	}
	return points
}

// along is how far a point lies along a line from the line's start, and how far
// beside it.
func along(line []r2.Vec, v r2.Vec) (distance, beside float64) {
	beside = math.Inf(1)
	way := 0.
	for i := range len(line) - 1 {
		d := r2.Sub(line[i+1], line[i])
		long := r2.Norm(d)
		t := min(max(r2.Dot(r2.Sub(v, line[i]), d)/(long*long), 0), 1)
		if b := r2.Norm(r2.Sub(v, r2.Add(line[i], r2.Scale(t, d)))); b < beside {
			distance, beside = way+t*long, b
		}
		way += long
	}
	return distance, beside
}

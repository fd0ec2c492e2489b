package digitised

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/internal/decimal"
	"calotte/layout/rowtable"
)

// WriteElectrodes writes a BIDS *_electrodes.tsv file: columns name, x, y and z
// in mm with four decimals.
func WriteElectrodes(w io.Writer, sites []layout.Site) error {
	b := bufio.NewWriter(w)
	b.WriteString("name\tx\ty\tz\n")
	for _, s := range sites {
		if s.Name == "" || strings.ContainsAny(s.Name, "\t\r\n") {
			return fmt.Errorf("site %q: expected a name without tabs and line ends", s.Name)
		}
		p := s.Position
		if err := checkReach(s); err != nil {
			return err
		}
		fmt.Fprintf(b, "%s\t%.4f\t%.4f\t%.4f\n", s.Name, round4(p.X), round4(p.Y), round4(p.Z))
	}
	return b.Flush()
}

// Points are positions as a file gives them: in its unit, along its axes. They
// become sites of a head by [Digitise].
type Points struct {
	Sites   []layout.Site
	Without []string // names of rows that have n/a for a coordinate
}

// ReadElectrodes reads a BIDS *_electrodes.tsv file. Columns are found by the
// header; others than name, x, y and z are passed over. Names may be any text
// and keep their spelling; landmarks may be among them.
func ReadElectrodes(r io.Reader) (Points, error) {
	t := electrodeTable{firstLine: map[string]int{}}
	lines := bufio.NewReader(r)
	for n := 1; ; n++ {
		line, err := lines.ReadString('\n')
		if err != nil && err != io.EOF {
			return Points{}, err
		}
		if err := t.add(n, line); err != nil {
			return Points{}, &rowtable.Error{Line: n, Got: err.Error()}
		}
		if err == io.EOF {
			break
		}
	}
	if len(t.points.Sites) == 0 {
		return Points{}, errors.New("no electrode has a position: expected rows of name, x, y and z")
	}
	return t.points, nil
}

// An electrodeTable grows line by line.
type electrodeTable struct {
	columns   map[string]int
	width     int
	firstLine map[string]int // of a name, however spelt
	points    Points
}

var electrodeColumns = [...]string{"name", "x", "y", "z"}

func (t *electrodeTable) add(n int, line string) error {
	if !utf8.ValidString(line) {
		return errors.New("not UTF-8: save the file in that encoding")
	}
	line = strings.TrimSuffix(strings.TrimSuffix(line, "\n"), "\r")
	if n == 1 {
		return t.header(strings.TrimPrefix(line, byteOrderMark))
	}
	if strings.TrimSpace(line) == "" {
		return nil
	}
	cells := strings.Split(line, "\t")
	if len(cells) != t.width {
		return fmt.Errorf("%d columns: expected %d as in the header, separated by tabs", len(cells), t.width)
	}
	for i := range cells {
		cells[i] = strings.TrimSpace(cells[i])
	}
	return t.row(n, cells)
}

func (t *electrodeTable) header(line string) error {
	t.columns = map[string]int{}
	cells := strings.Split(line, "\t")
	for i, cell := range cells {
		name := strings.ToLower(strings.TrimSpace(cell))
		if _, ok := t.columns[name]; ok {
			return fmt.Errorf("column %.40q is given twice: keep one", name)
		}
		t.columns[name] = i
	}
	for _, name := range electrodeColumns {
		if _, ok := t.columns[name]; !ok {
			return fmt.Errorf("no column %q: expected name, x, y and z, separated by tabs", name)
		}
	}
	t.width = len(cells)
	return nil
}

func (t *electrodeTable) row(n int, cells []string) error {
	name := cells[t.columns["name"]]
	if name == "" || name == rowtable.Missing {
		return errors.New("no name: give one")
	}
	key := pointKey(name)
	if first, ok := t.firstLine[key]; ok {
		return fmt.Errorf("site %.40q is given already in line %d: keep one of the two rows", name, first)
	}
	if len(t.firstLine) == layout.MostSites {
		return fmt.Errorf("more than %d electrodes: no cap has as many, expected a row for each electrode "+
			"that was worn", layout.MostSites)
	}
	t.firstLine[key] = n

	var v [3]float64
	available := true
	for i, column := range electrodeColumns[1:] {
		cell := cells[t.columns[column]]
		if cell == rowtable.Missing {
			available = false
			continue
		}
		value, err := strconv.ParseFloat(cell, 64)
		if err != nil || math.IsNaN(value) || math.IsInf(value, 0) {
			return fmt.Errorf("site %.40q: %s is %.40q: expected a number or n/a", name, column, cell)
		}
		v[i] = value
	}
	if !available {
		t.points.Without = append(t.points.Without, name)
		return nil
	}
	t.points.Sites = append(t.points.Sites, layout.Site{Name: name, Position: r3.Vec{X: v[0], Y: v[1], Z: v[2]}})
	return nil
}

// reach is farther from the origin, in mm, than a position on a head is in any
// scanner's coordinates. It is exceeded where mm are taken for m.
const reach = 2000

func checkReach(s layout.Site) error {
	if d := r3.Norm(s.Position); !(d <= reach) {
		return fmt.Errorf("site %.40q is %s mm from the origin: expected %d mm at most, check the unit", s.Name,
			decimal.Digits(d, 3), reach)
	}
	return nil
}

// spelling is the same for two texts that name the same site.
func spelling(name string) string {
	if n, err := layout.Parse(name); err == nil {
		return string(n)
	}
	return layout.Fold(name)
}

package scan

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/rowtable"
)

// Landmarks are the four points that were marked on a scan, in its own
// coordinates and unit.
type Landmarks struct {
	Nasion, Inion, LeftPreauricular, RightPreauricular r3.Vec
}

// ReadLandmarks reads a table of names and positions separated by tabs or
// blanks, with the header "name x y z". The names are NAS, INI, LPA and RPA in
// any case; nasion, Nz, inion and Iz stand for the first two.
func ReadLandmarks(r io.Reader) (Landmarks, error) {
	var l Landmarks
	points := map[layout.Name]*r3.Vec{"Nz": &l.Nasion, "Iz": &l.Inion, "LPA": &l.LeftPreauricular,
		"RPA": &l.RightPreauricular}
	given := map[layout.Name]int{}
	lines := bufio.NewScanner(r)
	for n := 1; lines.Scan(); n++ {
		cells := strings.Fields(strings.TrimPrefix(lines.Text(), "\ufeff"))
		var err error
		switch {
		case n == 1:
			err = landmarkHeader(cells)
		case len(cells) > 0:
			err = landmarkRow(cells, n, points, given)
		}
		if err != nil {
			return Landmarks{}, &rowtable.Error{Line: n, Got: err.Error()}
		}
	}
	if err := lines.Err(); errors.Is(err, bufio.ErrTooLong) {
		return Landmarks{}, errors.New("a line of more than 64 kB: expected a table of name, x, y and z")
	} else if err != nil {
		return Landmarks{}, err
	}
	var missing []string
	for _, want := range [...]struct{ name, code layout.Name }{{"Nz", "NAS"}, {"Iz", "INI"}, {"LPA", "LPA"},
		{"RPA", "RPA"}} {
		if given[want.name] == 0 {
			missing = append(missing, string(want.code))
		}
	}
	if len(missing) > 0 {
		return Landmarks{}, fmt.Errorf("landmark %s is missing: mark NAS, INI, LPA and RPA on the scan",
			strings.Join(missing, " and "))
	}
	return l, nil
}

func landmarkHeader(cells []string) error {
	if strings.ToLower(strings.Join(cells, " ")) != "name x y z" {
		return errors.New("expected the header: name x y z")
	}
	return nil
}

func landmarkRow(cells []string, n int, points map[layout.Name]*r3.Vec, given map[layout.Name]int) error {
	if len(cells) != 4 {
		return fmt.Errorf("%d columns: expected name, x, y and z", len(cells))
	}
	name, err := layout.Parse(cells[0])
	p, ok := points[name]
	if err != nil || !ok {
		return fmt.Errorf("landmark %.40q: expected NAS, INI, LPA or RPA", cells[0])
	}
	if first := given[name]; first > 0 {
		return fmt.Errorf("landmark %q is given already in line %d: keep one of the two rows", cells[0], first)
	}
	given[name] = n
	if *p, err = position([][]byte{[]byte(cells[1]), []byte(cells[2]), []byte(cells[3])}); err != nil {
		return fmt.Errorf("landmark %q: %w", cells[0], err)
	}
	return nil
}

package measure

import (
	"fmt"

	"calotte/layout"
)

// A Pool is sites whose mean is taken.
type Pool struct {
	Name  string
	Sites []layout.Name
}

// A Place is where a wave is read: at a site, or as the mean of several.
type Place struct {
	Title string // the site as it is written, or the pool's name
	Rows  []int  // of the sites in the average
}

// Places are sites and pools among those of an average, as it writes them:
// sites first. One that is not there is an error that wraps a
// *[layout.AbsentError].
func Places(written []string, sites []layout.Name, pools []Pool) ([]Place, error) {
	var out []Place
	for _, s := range sites {
		i, err := layout.Row(written, s)
		if err != nil {
			return nil, err
		}
		out = append(out, Place{written[i], []int{i}})
	}
	for _, p := range pools {
		place := Place{Title: p.Name}
		for _, s := range p.Sites {
			i, err := layout.Row(written, s)
			if err != nil {
				return nil, fmt.Errorf("pool %s: %w", p.Name, err)
			}
			place.Rows = append(place.Rows, i)
		}
		out = append(out, place)
	}
	return out, nil
}

// Wave is the mean of the place's rows: values are site × sample.
func (p Place) Wave(values [][]float64) []float64 {
	out := make([]float64, len(values[p.Rows[0]]))
	for _, i := range p.Rows {
		for t, x := range values[i] {
			out[t] += x / float64(len(p.Rows))
		}
	}
	return out
}

package layout

import "fmt"

// SitesOn finds the sites of a list, such as the columns of a table, on a
// surface by the rules, as Place does, under the names that they are written
// with.
func SitesOn(s Surface, written []string) ([]Site, error) {
	names := make([]Name, len(written))
	for i, text := range written {
		n, err := Parse(text)
		if err != nil {
			return nil, fmt.Errorf("column %q: %w", text, err)
		}
		names[i] = n
	}
	placed, err := Place(s, names)
	if err != nil {
		return nil, err
	}
	sites := Sites(placed)
	for i := range sites {
		sites[i].Name = written[i]
	}
	return sites, nil
}

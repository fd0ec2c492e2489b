package layout

import "fmt"

// Rows finds sites in a list by their names, whatever their spelling. Text that
// is no name is left out; of a site that is there twice the last counts.
func Rows(sites []string) map[Name]int {
	rows := make(map[Name]int, len(sites))
	for i, s := range sites {
		if n, err := Parse(s); err == nil {
			rows[n] = i
		}
	}
	return rows
}

// Names are those among texts, in their order.
func Names(texts []string) []Name {
	var names []Name
	for _, text := range texts {
		if n, err := Parse(text); err == nil {
			names = append(names, n)
		}
	}
	return names
}

// Row is where a site stands in a list. That it is not there is an
// *[AbsentError].
func Row(sites []string, name Name) (int, error) {
	i, ok := Rows(sites)[name]
	if !ok {
		return 0, &AbsentError{name, sites}
	}
	return i, nil
}

// An AbsentError says that a site is not among others.
type AbsentError struct {
	Name  Name
	Sites []string
}

func (e *AbsentError) Error() string {
	const most = 20
	shown := e.Sites[:min(most, len(e.Sites))]
	text := fmt.Sprintf("there is no %s: there are %s", e.Name, shown)
	if more := len(e.Sites) - len(shown); more > 0 {
		text += fmt.Sprintf(" and %d more", more)
	}
	return text
}

package option

import "fmt"

// Format is a flag that says how a table is printed.
type Format struct{ JSON bool }

func (f *Format) Set(text string) error {
	switch text {
	case "tsv", "json":
		f.JSON = text == "json"
		return nil
	}
	return fmt.Errorf("%q: expected tsv or json", text)
}

func (f Format) String() string {
	if f.JSON {
		return "json"
	}
	return "tsv"
}

func (f Format) Type() string { return "format" }

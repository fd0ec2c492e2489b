package guide

import (
	"bufio"
	"fmt"
	"io"
	"strings"
)

// ReadCaps reads a lab's cap sizes: a header "name from to", then a line a
// size with the circumferences that it is made for, tabs between the columns
// and units behind the numbers: "M	54cm	58cm".
func ReadCaps(r io.Reader) ([]Cap, error) {
	lines := bufio.NewScanner(r)
	var caps []Cap
	for number := 1; lines.Scan(); number++ {
		text := strings.TrimPrefix(strings.TrimSpace(lines.Text()), "\uFEFF")
		if text == "" {
			continue
		}
		fields := strings.Split(text, "\t")
		if len(fields) != 3 {
			return nil, fmt.Errorf("line %d: %d columns, expected name, from and to with tabs between them",
				number,
				len(fields))
		}
		if number == 1 {
			if !strings.EqualFold(strings.Join(fields, " "), "name from to") {
				return nil, fmt.Errorf("line 1: %q, expected the header name, from, to", text)
			}
			continue
		}
		c := Cap{Name: strings.TrimSpace(fields[0])}
		if err := c.From.Set(fields[1]); err != nil {
			return nil, fmt.Errorf("line %d, from: %w", number, err)
		}
		if err := c.To.Set(fields[2]); err != nil {
			return nil, fmt.Errorf("line %d, to: %w", number, err)
		}
		caps = append(caps, c)
	}
	if err := lines.Err(); err != nil {
		return nil, fmt.Errorf("reading cap sizes: %w", err)
	}
	if len(caps) == 0 {
		return nil, fmt.Errorf("no cap size: expected a header name, from, to and a line a size")
	}
	return caps, nil
}

package likeness

import (
	"fmt"
	"slices"
	"strings"

	"calotte/cmd/internal/console"
)

// tables compares cell by cell, numbers by the largest of their column.
func (c *comparison) tables(old, again []byte) error {
	left, right := rowsOf(old), rowsOf(again)
	if len(left) != len(right) {
		return differs("%d lines, and now %d", len(left), len(right))
	}
	header := right[0]
	if !slices.Equal(left[0], header) {
		return unlike("the header", strings.Join(left[0], " "), strings.Join(header, " "))
	}
	kinds := make([]kind, len(header))
	for _, rows := range [][][]string{left, right} {
		for _, row := range rows[1:] {
			for i, cell := range row[:min(len(row), len(kinds))] {
				kinds[i] = kinds[i].with(cell)
			}
		}
	}
	file, hash := slices.Index(header, "file"), slices.Index(header, "sha256")
	for n, row := range right[1:] {
		before := left[1+n]
		if len(before) != len(row) || len(row) > len(kinds) {
			return differs("line %d has %d cells, and now %d", n+2, len(before), len(row))
		}
		for i, cell := range row {
			switch {
			case cell == before[i], c.number(before[i], cell, kinds[i]):
			case i == hash && file >= 0 && file < len(row) && before[file] == row[file]:
				if err := c.beside(row[file]); err != nil {
					return err
				}
			case !c.text(before[i], cell):
				return unlike(fmt.Sprintf("line %d, column %s", n+2, console.Echo(header[i])),
					before[i],
					cell)
			}
		}
	}
	return nil
}

func rowsOf(text []byte) [][]string {
	var rows [][]string
	for _, line := range strings.Split(string(text), "\n") {
		rows = append(rows, strings.Split(line, "\t"))
	}
	return rows
}

// beside compares files that are named with their hashes, which differ.
func (c *comparison) beside(name string) error {
	_, err := c.file(name)
	return err
}

package option

import (
	"errors"
	"strconv"
	"strings"
)

// Counts is a list of numbers from 1 on, such as 12,24.
type Counts []int

// Set reads them; those that were there go.
func (n *Counts) Set(text string) error {
	var list Counts
	for part := range strings.SplitSeq(text, ",") {
		one, err := strconv.Atoi(part)
		if err != nil || one < 1 {
			return errors.New("expected numbers from 1 on, such as 12,24")
		}
		list = append(list, one)
	}
	*n = list
	return nil
}

func (n Counts) String() string {
	var texts []string
	for _, one := range n {
		texts = append(texts, strconv.Itoa(one))
	}
	return strings.Join(texts, ",")
}

// Type is the kind of value that a flag's help shows.
func (n Counts) Type() string { return "numbers" }

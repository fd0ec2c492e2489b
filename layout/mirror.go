package layout

import (
	"strconv"
	"strings"
	"sync"
)

// A Pair is the places in a list of two sites that mirror each other, left and
// right of the wearer.
type Pair struct{ Left, Right int }

// Mirror returns the name on the other side: F3 for F4, Cz for Cz, A1 for A2. A
// name that is not known is its own mirror.
func (n Name) Mirror() Name {
	if m, ok := mirrors()[n]; ok {
		return m
	}
	return n
}

// Pairs returns the mirror pairs among sites, by their names in whatever
// spelling, each once and in the order of the left ones. Sites on the midline
// have none, nor has text that is no name.
func Pairs(sites []string) []Pair {
	listed := make(map[Name]int, len(sites))
	for i, s := range sites {
		if n, err := Parse(s); err == nil {
			listed[n] = i
		}
	}
	var pairs []Pair
	for i, s := range sites {
		n, err := Parse(s)
		if err != nil || n.Side() != LeftSide || listed[n] != i {
			continue
		}
		if right, ok := listed[n.Mirror()]; ok {
			pairs = append(pairs, Pair{i, right})
		}
	}
	return pairs
}

// Side is the side of the wearer that a name is on. Names tell it where
// positions do not: on a head with unequal sides the midline leaves x = 0.
func (n Name) Side() Side {
	switch {
	case n.Mirror() == n:
		return Midline
	case IsLeft(n):
		return LeftSide
	}
	return RightSide
}

var mirrors = sync.OnceValue(func() map[Name]Name {
	m := make(map[Name]Name)
	for _, n := range names().ordered {
		if IsLeft(n) {
			right := oppositeOfLeft(n)
			m[n], m[right] = right, n
		}
	}
	return m
})

// IsLeft reports whether a known name is on the left: its number is odd.
func IsLeft(n Name) bool {
	digits := strings.TrimLeft(strings.TrimSuffix(string(n), "h"), letters)
	number, err := strconv.Atoi(digits)
	return n == "LPA" || err == nil && number%2 == 1
}

// oppositeOfLeft raises the number of a name on the left by one: F3 gives F4.
func oppositeOfLeft(n Name) Name {
	if n == "LPA" {
		return "RPA"
	}
	stem := strings.TrimSuffix(string(n), "h")
	prefix := strings.TrimRight(stem, "0123456789")
	number, _ := strconv.Atoi(stem[len(prefix):])
	return Name(prefix + strconv.Itoa(number+1) + string(n)[len(stem):])
}

const letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"

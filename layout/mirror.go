package layout

import (
	"strconv"
	"strings"
	"sync"
)

// A Pair is two names that mirror each other, left and right of the wearer.
type Pair struct{ Left, Right Name }

// Mirror returns the name on the other side: F3 for F4, Cz for Cz, A1 for A2. A
// name that is not known is its own mirror.
func (n Name) Mirror() Name {
	if m, ok := mirrors()[n]; ok {
		return m
	}
	return n
}

// Pairs returns the mirror pairs of which both names are listed, each once, in
// the order of the left names. Names on the midline have no pair.
func Pairs(list []Name) []Pair {
	listed := make(map[Name]bool, len(list))
	for _, n := range list {
		listed[n] = true
	}
	var pairs []Pair
	for _, n := range list {
		if m := n.Mirror(); listed[n] && isLeft(n) && listed[m] {
			pairs = append(pairs, Pair{n, m})
			delete(listed, n)
		}
	}
	return pairs
}

var mirrors = sync.OnceValue(func() map[Name]Name {
	m := make(map[Name]Name)
	for _, n := range names().ordered {
		if isLeft(n) {
			right := oppositeOfLeft(n)
			m[n], m[right] = right, n
		}
	}
	return m
})

// isLeft reports whether a known name is on the left: its number is odd.
func isLeft(n Name) bool {
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

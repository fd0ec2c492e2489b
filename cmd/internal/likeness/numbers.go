package likeness

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"sync"

	"calotte/cmd/internal/console"
)

const (
	// tolerance is how far numbers may be apart, as a share of the largest
	// of their kind. Sums of some million products leave 1e-11; what a
	// person means by a difference is a thousand times more than this.
	tolerance = 1e-9
	// nothing is how far any may be apart: in µV, mm or s less than is ever
	// measured.
	nothing = 1e-12
	// coarsest is the largest step of printed digits, as a share of the
	// largest of their kind, at which a number may have been rounded to the
	// step beside.
	coarsest = 1e-5
)

// A kind is what is known of numbers that mean the same, such as those of a
// column.
type kind struct {
	largest  float64 // magnitude
	decimals int     // the most that one has
}

// with is the kind with another number, if the text is one.
func (k kind) with(text string) kind {
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return k
	}
	return kind{max(k.largest, math.Abs(v)), max(k.decimals, decimals(text))}
}

// step is one of the last decimal.
func (k kind) step() float64 { return math.Pow10(-k.decimals) }

// decimals is how many digits stand behind the point, very many where there is
// an exponent.
func decimals(text string) int {
	if strings.ContainsAny(text, "eE") {
		return 300
	}
	_, behind, _ := strings.Cut(text, ".")
	return len(behind)
}

// number reports whether two spellings are of one number of a kind, within
// rounding.
func (c *comparison) number(a, b string, of kind) bool {
	if a == b {
		return true
	}
	u, errA := strconv.ParseFloat(a, 64)
	v, errB := strconv.ParseFloat(b, 64)
	if errA != nil || errB != nil || math.IsNaN(u-v) {
		return false
	}
	if isWhole(a) && isWhole(b) {
		return u == v // a count, or a zero of either sign
	}
	apart := math.Abs(u - v)
	beside := apart <= 1.01*of.step() && of.step() <= coarsest*of.largest
	if apart > tolerance*of.largest+nothing && !beside {
		return false
	}
	if of.largest > nothing {
		c.numbers = max(c.numbers, apart/of.largest)
	}
	return true
}

func isWhole(a string) bool { return !strings.ContainsAny(a, ".eE") }

// aNumber is one in a text, with its sign: zero may have either.
var aNumber = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`-?[0-9]+(\.[0-9]+)?([eE][-+]?[0-9]+)?`) })

// text reports whether texts are the same but for the last digits of numbers in
// them.
func (c *comparison) text(a, b string) bool {
	if a == b {
		return true
	}
	inA, inB := aNumber().FindAllStringIndex(a, -1), aNumber().FindAllStringIndex(b, -1)
	if len(inA) != len(inB) {
		return false
	}
	endA, endB := 0, 0
	for i := range inA {
		x, y := a[inA[i][0]:inA[i][1]], b[inB[i][0]:inB[i][1]]
		if a[endA:inA[i][0]] != b[endB:inB[i][0]] || !c.number(x, y, kind{}.with(x).with(y)) {
			return false
		}
		endA, endB = inA[i][1], inB[i][1]
	}
	return a[endA:] == b[endB:]
}

// unlike is the difference of two values.
func unlike(where, a, b string) error {
	return differs("%s is %s, and now %s", where, console.Echo(a), console.Echo(b))
}

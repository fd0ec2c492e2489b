package rowtable

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// checkLeading compares what Leading reads with what the standard library
// reads of the same bytes, bit for bit.
func checkLeading(t interface{ Errorf(string, ...any) }, text string) (read bool) {
	got, length := Leading([]byte(text))
	if length == 0 {
		return false
	}
	want, err := strconv.ParseFloat(text[:length], 64)
	if err != nil || math.Float64bits(got) != math.Float64bits(want) {
		t.Errorf("%q: %v of %q, want %v, %v", text, got, text[:length], want, err)
	}
	return true
}

func TestLeading(t *testing.T) {
	for text, want := range map[string]int{
		"": 0, "-": 0, "+": 0, ".": 0, "-.": 0, "x": 0, "\t1": 0, " 1": 0, "n/a": 0, "--1": 0, "Inf": 0,
		"0": 1, "-0": 2, "+0.0": 4, "1.": 2, ".5": 2, "-.5": 3, "1.5.5": 3, "1..5": 2, "0.25\t7": 4, "1e5": 1,
		"12,5": 2, "1_000": 1, "0x10": 1,
		"9999999999999999999": 19, "99999999999999999999": 0, "0.9999999999999999999": 21,
		"00.9999999999999999999": 0, "0.99999999999999999999": 0, "0.00000000000000000000": 0,
		".9999999999999999999": 20,
		// Between two numbers, and beside that.
		"9007199254740993": 16, "9007199254740993.001": 20, "9007199254740992.999": 20,
		"9007199254740995": 16, "18446744073709551": 17, "4503599627370496.5": 18, "4503599627370497.5": 18,
		"0.000000000000000001": 20, "12345678": 8, "1234567:": 7, "1234567/": 7, ":2345678": 0,
		"0.1234567\t": 9, "0.12345678\t": 10, "12345678.12345678": 17, "12.3456;78": 7, "1844674407370955161.5": 0, "9999999999999999.999": 20,
	} {
		if _, length := Leading([]byte(text)); length != want {
			t.Errorf("%q: %d bytes, want %d", text, length, want)
		}
		checkLeading(t, text)
	}
}

// Numbers as tables hold them, the shortest decimals that read back the same.
func TestLeadingOfShortestDecimals(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 1))
	read := 0
	const n = 200_000
	for i := range n {
		x := random.NormFloat64() * math.Pow(10, float64(i%7-3))
		text := strconv.FormatFloat(x, 'f', -1, 64)
		if got, length := Leading([]byte(text)); length > 0 {
			read++
			if length != len(text) || got != x {
				t.Fatalf("%s: %v of %d bytes", text, got, length)
			}
		}
	}
	if read < n*3/4 {
		t.Errorf("%d of %d are read: the others take several times as long", read, n)
	}
}

// Half way between two neighbours, a digit above and below.
func TestLeadingRounds(t *testing.T) {
	random := rand.New(rand.NewPCG(2, 1))
	for range 100_000 {
		half := 1<<53 + 2*random.Uint64N(1<<52) + 1 // odd: between two even numbers
		for _, m := range []uint64{half - 1, half, half + 1} {
			checkLeading(t, strconv.FormatUint(m, 10))
			checkLeading(t, fmt.Sprintf("%d.%d", m, random.IntN(1000)))
		}
	}
}

func TestLeadingOfAnyDigits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		checkLeading(t, rapid.StringMatching(`[-+]?[0-9]{0,19}\.?[0-9]{0,19}[e\t0-9]?`).Draw(t, "text"))
	})
}

func FuzzLeading(f *testing.F) {
	for _, text := range []string{"0", "-1.25\t3", "9007199254740993", "0.1e5", "+.", strings.Repeat("9", 19)} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) { checkLeading(t, text) })
}

func BenchmarkLeading(b *testing.B) {
	text := []byte("-3.1415926535897931")
	for b.Loop() {
		if _, length := Leading(text); length == 0 {
			b.Fatal("not read")
		}
	}
}

func BenchmarkDecimal(b *testing.B) {
	for b.Loop() {
		if _, ok := Decimal("-3.1415926535897931"); !ok {
			b.Fatal("not read")
		}
	}
}

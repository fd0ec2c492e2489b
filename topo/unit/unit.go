// Package unit reads and writes the quantities of the trade: times, lengths,
// amplitudes, frequencies, spans of time and latencies. It is the one parser
// for flags, specification files and page addresses.
//
// A quantity is a decimal number with a decimal point, and a unit: 170ms,
// 0.17s, 36.2cm, 8uV, 0.1Hz. The unit is required, since 170 could be
// milliseconds as well as samples. Blanks between number and unit are allowed,
// exponents and digit groups are not.
//
// Numbers are kept in the base unit of the program (s, mm, µV, Hz) and are the
// float64 nearest to the decimal that was written: the unit shifts the decimal
// point before the number becomes binary. String gives the shortest text that
// reads back to the same number.
package unit

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// A scale is one unit of a dimension: the spelling and the power of ten that
// takes it to the dimension's base unit.
type scale struct {
	symbol   string
	exponent int
}

// A dimension is a kind of quantity. The first scale is the one it is written
// in.
type dimension struct {
	name    string
	example string
	scales  []scale
	// A number below small without a unit is more likely in smallUnit than
	// in the first one.
	small     float64
	smallUnit string
}

var (
	timeDimension    = dimension{"a time", "170ms", []scale{{"ms", -3}, {"s", 0}, {"us", -6}, {"µs", -6}}, 10, "s"}
	lengthDimension  = dimension{"a length", "560mm", []scale{{"mm", 0}, {"cm", 1}, {"m", 3}}, 75, "cm"}
	voltageDimension = dimension{"an amplitude", "8uV",
		[]scale{{"uV", 0}, {"µV", 0}, {"μV", 0}, {"nV", -3}, {"mV", 3}, {"V", 6}}, 0, ""}
	densityDimension = dimension{"a current density", "0.5uV/cm2",
		[]scale{{"uV/cm2", 0}, {"µV/cm²", 0}, {"uV/cm²", 0}, {"µV/cm2", 0}}, 0, ""}
	frequencyDimension = dimension{"a frequency", "0.1Hz", []scale{{"Hz", 0}, {"kHz", 3}}, 0, ""}
)

// dimensions is what an unknown unit is looked up in, to say what it would
// measure.
var dimensions = []*dimension{&timeDimension, &lengthDimension, &voltageDimension, &densityDimension,
	&frequencyDimension}

// parse reads text as a quantity of d, in d's base unit.
func (d *dimension) parse(text string) (float64, error) {
	number, symbol, err := split(text)
	if err != nil {
		return 0, fmt.Errorf("%q: %w; expected %s such as %s", text, err, d.name, d.example)
	}
	if symbol == "" {
		return 0, fmt.Errorf("%q has no unit: expected %s such as %s%s", text, d.name, number, d.likely(number))
	}
	return d.value(text, number, symbol)
}

// likely is the unit that a number without one may be in.
func (d *dimension) likely(number string) string {
	if v, err := strconv.ParseFloat(number, 64); err == nil && math.Abs(v) < d.small && v != 0 {
		return d.smallUnit
	}
	return d.scales[0].symbol
}

// value scales a number by its unit; text is the whole input, for the error.
func (d *dimension) value(text, number, symbol string) (float64, error) {
	s, err := d.scale(symbol)
	if err != nil {
		return 0, fmt.Errorf("%q: %w", text, err)
	}
	v, err := strconv.ParseFloat(fmt.Sprintf("%se%d", number, s.exponent), 64)
	if err != nil || math.IsInf(v, 0) {
		return 0, fmt.Errorf("%q is too large for %s", text, d.name)
	}
	return v + 0, nil // plus zero turns -0 into 0
}

// scale looks symbol up; the error says what the symbol measures instead, or
// which spelling was meant.
func (d *dimension) scale(symbol string) (scale, error) {
	for _, s := range d.scales {
		if s.symbol == symbol {
			return s, nil
		}
	}
	for _, other := range dimensions {
		for _, s := range other.scales {
			if s.symbol == symbol {
				return scale{}, fmt.Errorf("%s is the unit of %s, expected %s such as %s", symbol,
					other.name,
					d.name,
					d.example)
			}
		}
	}
	for _, s := range d.scales {
		if strings.EqualFold(s.symbol, symbol) {
			return scale{}, fmt.Errorf("unknown unit %q, did you mean %s?", symbol, s.symbol)
		}
	}
	return scale{}, fmt.Errorf("unknown unit %q, expected %s", symbol, d.symbols())
}

func (d *dimension) symbols() string {
	names := make([]string, len(d.scales))
	for i, s := range d.scales {
		names[i] = s.symbol
	}
	return strings.Join(names, ", ")
}

// format writes v, a number in the base unit, in the dimension's first unit.
func (d *dimension) format(v float64) string {
	return shift(v, -d.scales[0].exponent) + d.scales[0].symbol
}

// shift writes v times a power of ten in plain decimals. It moves the decimal
// point of the shortest text, so that no digit is invented by a binary product.
func shift(v float64, power int) string {
	mantissa, exponent, _ := strings.Cut(strconv.FormatFloat(v, 'e', -1, 64), "e")
	e, err := strconv.Atoi(exponent)
	if err != nil { // not finite
		return mantissa
	}
	sign := ""
	if strings.HasPrefix(mantissa, "-") {
		sign, mantissa = "-", mantissa[1:]
	}
	digits := strings.Replace(mantissa, ".", "", 1)
	point := 1 + e + power
	switch {
	case point <= 0:
		digits = strings.Repeat("0", 1-point) + digits
		point = 1
	case point > len(digits):
		digits += strings.Repeat("0", point-len(digits))
	}
	whole, fraction := digits[:point], strings.TrimRight(digits[point:], "0")
	whole = strings.TrimLeft(whole[:len(whole)-1], "0") + whole[len(whole)-1:]
	if fraction == "" {
		return sign + whole
	}
	return sign + whole + "." + fraction
}

// split parts text into a decimal number and what follows it.
func split(text string) (number, symbol string, err error) {
	// The typographic minus comes along when a range is copied from a
	// paper.
	t := strings.ReplaceAll(strings.TrimSpace(text), "−", "-")
	end := strings.IndexFunc(t, func(r rune) bool {
		return !strings.ContainsRune("+-.0123456789", r)
	})
	if end < 0 {
		end = len(t)
	}
	number, symbol = t[:end], strings.TrimSpace(t[end:])
	switch {
	case number == "":
		return "", "", errors.New("no number")
	case strings.HasPrefix(symbol, ","):
		return "", "", fmt.Errorf("a decimal comma; write a point: %q", strings.Replace(t, ",", ".", 1))
	case !decimal(number):
		return "", "", fmt.Errorf("%q is not a number", number)
	}
	return number, symbol, nil
}

// decimal reports whether s is [sign] digits [. digits], with at least a digit.
func decimal(s string) bool {
	if s != "" && (s[0] == '-' || s[0] == '+') {
		s = s[1:]
	}
	whole, fraction, _ := strings.Cut(s, ".")
	digits := whole + fraction
	return digits != "" && strings.Trim(digits, "0123456789") == ""
}

package likeness

import (
	"bytes"
	"encoding/base64"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"

	"calotte/cmd/internal/console"
)

// finest is a step of the coordinates of drawings, in points.
const finest = 0.01

// drawings compares SVG files element by element: places to a step of the last
// decimal, pictures by their pixels, texts but for the last digits of numbers.
func (c *comparison) drawings(old, again []byte) error {
	left, right := xml.NewDecoder(bytes.NewReader(old)), xml.NewDecoder(bytes.NewReader(again))
	var inside []string
	for {
		b, end := right.RawToken()
		if end != nil && !errors.Is(end, io.EOF) {
			return end
		}
		a, err := left.RawToken()
		switch {
		case errors.Is(end, io.EOF) && errors.Is(err, io.EOF):
			return nil
		case end != nil || errors.Is(err, io.EOF):
			return differs("one drawing ends before the other, after %d bytes and now %d",
				left.InputOffset(),
				right.InputOffset())
		case err != nil:
			return differs("it is damaged: %v", err)
		}
		switch b := b.(type) {
		case xml.StartElement:
			a, ok := a.(xml.StartElement)
			if !ok {
				return differs("another element stands before %s", b.Name.Local)
			}
			if err := c.element(a, b); err != nil {
				return err
			}
			inside = append(inside, b.Name.Local)
		case xml.EndElement:
			if a, ok := a.(xml.EndElement); !ok || a != b {
				return differs("%s ends elsewhere", b.Name.Local)
			}
			inside = inside[:max(0, len(inside)-1)]
		case xml.CharData:
			a, ok := a.(xml.CharData)
			switch {
			case !ok:
				return unlike("a text", "an element", string(b))
			case slices.Contains(inside, "metadata"):
				if err := c.record(a, b); err != nil {
					return err
				}
			case !c.text(string(a), string(b)):
				return unlike("a text", string(a), string(b))
			}
		default:
			if fmt.Sprint(a) != fmt.Sprint(b) {
				return differs("what stands before the drawing differs")
			}
		}
	}
}

// places are the attributes that hold numbers of points, or shares of a size.
var places = []string{
	"x", "y", "width", "height", "viewBox", "transform", "font-size",
	"stroke-width", "stroke-dasharray", "stroke-dashoffset",
}

func (c *comparison) element(a, b xml.StartElement) error {
	if a.Name != b.Name || len(a.Attr) != len(b.Attr) {
		return unlike("an element", a.Name.Local, b.Name.Local)
	}
	for i, now := range b.Attr {
		before := a.Attr[i]
		if before.Name != now.Name {
			return unlike("an attribute of "+b.Name.Local, before.Name.Local, now.Name.Local)
		}
		if before.Value == now.Value {
			continue
		}
		where := now.Name.Local + " of " + b.Name.Local
		const picture = "data:image/png;base64,"
		switch name := now.Name.Local; {
		case name == "d":
			if err := c.path(before.Value, now.Value); err != nil {
				return err
			}
		case slices.Contains(places, name):
			if !c.steps(before.Value, now.Value) {
				return unlike(where, before.Value, now.Value)
			}
		case name == "fill", name == "stroke":
			if !c.colour(before.Value, now.Value) {
				return unlike(where, before.Value, now.Value)
			}
		case name == "href" && strings.HasPrefix(before.Value, picture) && strings.HasPrefix(now.Value,
			picture):
			if err := c.embedded(before.Value[len(picture):], now.Value[len(picture):]); err != nil {
				return err
			}
		default:
			return unlike(where, before.Value, now.Value)
		}
	}
	return nil
}

func (c *comparison) embedded(a, b string) error {
	left, err := base64.StdEncoding.DecodeString(a)
	if err != nil {
		return differs("a picture is damaged: %v", err)
	}
	right, err := base64.StdEncoding.DecodeString(b)
	if err != nil {
		return err
	}
	return c.pictures(bytes.NewReader(left), bytes.NewReader(right), int64(len(left)), int64(len(right)))
}

// signed is a number of a drawing, which may begin with its point.
var signed = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`-?([0-9]+(\.[0-9]*)?|\.[0-9]+)`) })

// steps reports whether texts are the same but for steps of the last decimal of
// numbers.
func (c *comparison) steps(a, b string) bool {
	x, y := signed().FindAllString(a, -1), signed().FindAllString(b, -1)
	if len(x) != len(y) || !slices.Equal(words(a), words(b)) {
		return false
	}
	for i := range x {
		u, errA := strconv.ParseFloat(x[i], 64)
		v, errB := strconv.ParseFloat(y[i], 64)
		if errA != nil || errB != nil || math.Abs(u-v) > 1.01*min(finest, kind{}.with(x[i]).with(y[i]).step()) {
			return false
		}
		if u != v {
			c.steppedOff++
		}
	}
	return true
}

// words are what stands between the numbers of a text.
func words(a string) []string {
	return strings.Fields(signed().ReplaceAllString(a, " "))
}

// colour reports whether colours are at most a step of 255 apart.
func (c *comparison) colour(a, b string) bool {
	x, errA := strconv.ParseUint(strings.TrimPrefix(a, "#"), 16, 32)
	y, errB := strconv.ParseUint(strings.TrimPrefix(b, "#"), 16, 32)
	if errA != nil || errB != nil || len(a) != 7 || len(b) != 7 {
		return false
	}
	for shift := 0; shift < 24; shift += 8 {
		if d := int(x>>shift&255) - int(y>>shift&255); max(d, -d) > 1 {
			return false
		}
	}
	return true
}

// path compares data of paths of relative steps. What counts is where each step
// ends, so that no drift hides in many of them.
func (c *comparison) path(a, b string) error {
	left, right := segments(a), segments(b)
	if len(left) != len(right) {
		return differs("a path of %d pieces has %d now", len(left), len(right))
	}
	var apart, begun [2]float64 // of the places where both are, and where they began
	for i, s := range right {
		if s.verb != left[i].verb || len(s.numbers) != len(left[i].numbers) {
			return unlike("a path", a, b)
		}
		if s.verb == 'M' {
			apart = [2]float64{}
		}
		for k, v := range s.numbers {
			axis, d := k%2, v-left[i].numbers[k]
			if !(math.Abs(apart[axis]+d) <= 1.01*finest) {
				return differs("a path is %.2f points off: %s, and now %s", apart[axis]+d,
					console.Echo(a),
					console.Echo(b))
			}
			// Of a curve the last two of six say where it ends.
			if s.verb != 'c' || k%6 >= 4 {
				apart[axis] += d
			}
			if d != 0 {
				c.steppedOff++
			}
		}
		switch s.verb {
		case 'M':
			begun = apart
		case 'z':
			apart = begun
		}
	}
	return nil
}

// A segment is a command of a path with its numbers.
type segment struct {
	verb    byte
	numbers []float64
}

func segments(path string) []segment {
	var out []segment
	for len(path) > 0 {
		end := strings.IndexAny(path[1:], "Mlcz") + 1
		if end == 0 {
			end = len(path)
		}
		s := segment{verb: path[0]}
		for _, text := range signed().FindAllString(path[1:end], -1) {
			v, err := strconv.ParseFloat(text, 64)
			if err != nil {
				v = math.NaN()
			}
			s.numbers = append(s.numbers, v)
		}
		out = append(out, s)
		path = path[end:]
	}
	return out
}

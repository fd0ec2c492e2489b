package likeness

import (
	"bytes"
	"compress/zlib"
	"html"
	"io"
	"math"
	"regexp"
	"slices"
	"strings"
	"sync"
)

// documents compares PDF files as this program writes them: the objects, and
// what is packed in them: drawings by their numbers, pictures by their dots,
// the record.
func (c *comparison) documents(old, again []byte) error {
	left, right := objectsOf(old), objectsOf(again)
	if len(left) != len(right) {
		return differs("%d streams, and now %d", len(left), len(right))
	}
	namesA, namesB := pictureNames(old), pictureNames(again)
	for i, b := range right {
		a := left[i]
		if plainObject(namesA.Replace(a.before)) != plainObject(namesB.Replace(b.before)) {
			return differs("an object of the PDF differs")
		}
		if bytes.Equal(a.stream, b.stream) {
			continue
		}
		_, kind, _ := strings.Cut(b.before[max(0, strings.LastIndex(b.before, " obj\n")):], "\n")
		var err error
		switch {
		case strings.Contains(kind, "/Type /Metadata"):
			err = c.packet(a.stream, b.stream)
		case strings.Contains(kind, "/Subtype /Image"):
			err = c.packedPicture(a.stream, b.stream)
		default:
			err = c.packedDrawing(a.stream, b.stream, namesA, namesB)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// An object is a stream of a PDF with what stands before it.
type object struct {
	before string
	stream []byte
}

func objectsOf(file []byte) []object {
	var out []object
	for {
		before, rest, found := bytes.Cut(file, []byte("\nstream\n"))
		if !found {
			return append(out, object{before: string(before)})
		}
		stream, after, _ := bytes.Cut(rest, []byte("\nendstream"))
		out = append(out, object{string(before), stream})
		file = after
	}
}

// pictureName is that of a picture, which is made from its bytes, where it says
// which object the picture is.
var pictureName = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`(/I[0-9a-f]{40}) ([0-9]+) 0 R`) })

// pictureNames puts the numbers of objects for the names of pictures.
func pictureNames(file []byte) *strings.Replacer {
	var pairs []string
	for _, found := range pictureName().FindAllSubmatch(file, -1) {
		pairs = append(pairs, string(found[1]), "/I"+string(found[2]))
	}
	return strings.NewReplacer(pairs...)
}

// lengths are numbers of bytes, which change with what is packed.
var lengths = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`/Length [0-9]+`) })

// plainObject is an object without numbers of bytes, without the table of
// places at the end of the file, and with its lines in order, since pictures
// are listed by their names.
func plainObject(text string) string {
	text, _, _ = strings.Cut(text, "\nxref\n")
	lines := strings.Split(lengths().ReplaceAllString(text, ""), "\n")
	slices.Sort(lines)
	return strings.Join(lines, "\n")
}

// both unpacks two streams.
func both(old, again []byte) (a, b []byte, err error) {
	if b, err = inflated(again, math.MaxInt64); err != nil {
		return nil, nil, differs("a part of the PDF differs, which is packed in another way")
	}
	if a, err = inflated(old, largest(int64(len(b)))); err != nil {
		return nil, nil, differs("it is damaged: %v", err)
	}
	return a, b, nil
}

func (c *comparison) packedPicture(old, again []byte) error {
	a, b, err := both(old, again)
	if err != nil {
		return err
	}
	if len(a) != len(b) {
		return differs("a picture has another size")
	}
	return c.dots(apart(a, b, 1), len(b))
}

// packedDrawing compares lines of operators, in which numbers may be a step of
// the last decimal off.
func (c *comparison) packedDrawing(old, again []byte, namesA, namesB *strings.Replacer) error {
	a, b, err := both(old, again)
	if err != nil {
		return err
	}
	left, right := strings.Split(namesA.Replace(string(a)), "\n"), strings.Split(namesB.Replace(string(b)), "\n")
	if len(left) != len(right) {
		return differs("a drawing of %d operators has %d now", len(left), len(right))
	}
	for i, line := range right {
		if line != left[i] && !c.steps(left[i], line) {
			return unlike("an operator of a drawing", left[i], line)
		}
	}
	return nil
}

func inflated(stream []byte, most int64) ([]byte, error) {
	r, err := zlib.NewReader(bytes.NewReader(stream))
	if err != nil {
		return nil, err
	}
	return io.ReadAll(io.LimitReader(r, most))
}

// packet compares metadata, in which the record stands as text.
func (c *comparison) packet(old, again []byte) error {
	const begin, end = "<calotte:provenance>", "</calotte:provenance>"
	before, a, okA := strings.Cut(string(old), begin)
	now, b, okB := strings.Cut(string(again), begin)
	recordA, restA, wholeA := strings.Cut(a, end)
	recordB, restB, wholeB := strings.Cut(b, end)
	if !okA || !okB || !wholeA || !wholeB {
		return differs("it has no provenance")
	}
	if !c.text(before, now) || !c.text(restA, restB) {
		return differs("what is said of the document differs")
	}
	return c.record([]byte(html.UnescapeString(recordA)), []byte(html.UnescapeString(recordB)))
}

package console

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"
)

func TestLine(t *testing.T) {
	long := strings.Repeat("é", 100)
	for text, want := range map[string]string{
		"one\r\ntwo \t three":                          "one two three",
		"\x1b[2J\u009b\u202e\xff":                      `\u001b[2J\u009b\u202e\xff`,
		`site "` + long + `": no`:                      `site "` + long + `": no`,
		`site "` + long + long + long + `": no "Fz"`:   `site "` + long[:160] + `…": no "Fz"`,
		`site "` + strings.Repeat(`\"`, 300) + `": no`: `site "` + strings.Repeat(`\"`, 80) + `…": no`,
		strings.Repeat("x", 1600) + strings.Repeat("y",
			1600): strings.Repeat("x", 1100) + " … " + strings.Repeat("y",
			400),
	} {
		if got := Line(text); got != want {
			t.Errorf("%q: got %q, want %q", text, got, want)
		}
	}
}

func TestSay(t *testing.T) {
	type name string
	var b bytes.Buffer
	Say(&b, "%s: %-4s|%v %d\n", "a\nb", name("\r"), errors.New("x\ty"), 3)
	if want := `a\nb: \r  |x\ty 3` + "\n"; b.String() != want {
		t.Errorf("got %q, want %q", b.String(), want)
	}
}

// However a text is cut into writes, what acts is escaped, and what is JSON
// stays what it says.
func TestPlain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		value := rapid.SliceOf(rapid.OneOf(rapid.String(),
			rapid.SampledFrom([]string{"\x1b", "\u009b", "\u202e", "\u2028", "µV", "\x7f"}))).Draw(t,
			"value")
		text, err := json.Marshal(value)
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		w := Plain(Plain(&b))
		for rest := text; len(rest) > 0; {
			n := rapid.IntRange(1, len(rest)).Draw(t, "bytes")
			if _, err := w.Write(rest[:n]); err != nil {
				t.Fatal(err)
			}
			rest = rest[n:]
		}
		if strings.ContainsFunc(b.String(), acts) {
			t.Errorf("%q lets something through", b.String())
		}
		var got []string
		if err := json.Unmarshal(b.Bytes(), &got); err != nil ||
			strings.Join(got, "\x00") != strings.Join(value, "\x00") {
			t.Errorf("%q became %q, %v", value, got, err)
		}
	})
}

func TestPlainTellsOfBytesThatAreNoText(t *testing.T) {
	var b bytes.Buffer
	if n, err := io.WriteString(Plain(&b), "a\x9b\xffb\n"); n != 5 || err != nil ||
		b.String() != `a\x9b\xffb`+"\n" {
		t.Errorf("%d, %v, %q", n, err, b.String())
	}
	b.Reset()
	w := Plain(&b)
	for _, part := range []string{"\xc2", "\xb5V", "\xf0\x9f", "x"} {
		if _, err := io.WriteString(w, part); err != nil {
			t.Fatal(err)
		}
	}
	if b.String() != `µV\xf0\x9fx` || !utf8.ValidString(b.String()) {
		t.Errorf("%q", b.String())
	}
}

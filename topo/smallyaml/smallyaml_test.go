package smallyaml

import (
	"fmt"
	"os"
	"runtime"
	"strings"
	"testing"

	"calotte/layout/hostile"
)

const most = 1 << 20

// lines makes a text of numbered lines.
func lines(n int, format string) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, format, i)
	}
	return b.String()
}

// stairs are keys, each below and to the right of the one before.
func stairs(n int, key string) string {
	var b strings.Builder
	for i := range n {
		b.WriteString(strings.Repeat(" ", i) + key + ":\n")
	}
	return b.String()
}

func TestParseRefuses(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"long", strings.Repeat("#", most+1), "1048577 bytes: expected at most 1048576"},
		{"bytes", "a: \xff", "bytes that are no UTF-8: save it as such"},
		{"signs", strings.Repeat("[", 200_000),
			"more than 100000 lines and signs: expected a text that a person can write"},
		{"brackets", "a:\n  " + strings.Repeat("[", 90_000),
			"line 2: values lie in each other more than 16 deep"},
		{"braces", strings.Repeat("{a: ", 20_000), "line 1: values lie in each other more than 16 deep"},
		{"lists in a line", strings.Repeat("- ", 20_000), "line 1: values lie in each other more than 16 deep"},
		{"complex keys", strings.Repeat("? ", 20_000), "line 1: values lie in each other more than 16 deep"},
		{"stairs", stairs(1000, "a"), "line 17: values lie in each other more than 16 deep"},
		{"keys", lines(50_000, "k%d: 1\n"), "line 10001: there are more than 10000 keys"},
		{"keys in braces", "{" + lines(20_000, "k%d: 1, ") + "}", "line 1: there are more than 10000 keys"},
		{"a long key", strings.Repeat("k", 65) + ": 1", "line 1: a key of 65 bytes: expected at most 64"},
		{"blank lines", "a: |\n" + strings.Repeat(" \r\n", 200),
			"line 102: more than 100 blank lines in a row"},
		{"an anchor", "a: &b 1",
			"line 1: & names a value for another place: write the value itself, in quotes where the sign " +
				"belongs to it"},
		{"an alias", "a: 1\nb: *a",
			"line 2: * stands for a value of another place: write the value itself, in quotes " +
				"where the sign " +
				"belongs to it"},
		{"a merge", "<<: {a: 1}",
			"line 1: << stands for keys of another place: write the value itself, in quotes where the sign " +
				"belongs to it"},
		{"a tag", "a: !!binary x",
			"line 1: ! gives a value a type: write the value itself, in quotes where the sign belongs to it"},
		{"two documents", "a: 1\n---\nb: 1\n", "line 3: a second document: expected one a file"},
		{"broken", "a: [\n", "line 1: no YAML: sequence end token ']' not found"},
		{"a key twice", "a: 1\nb: 2\na: 3\n", `line 3: no YAML: mapping key "a" already defined at [1:1]`},
	} {
		if _, err := Parse([]byte(c.text), most); err == nil || err.Error() != c.want {
			t.Errorf("%s: got %v, want %s", c.name, err, c.want)
		}
	}
}

func TestParseTakes(t *testing.T) {
	guide, err := os.ReadFile("../../render/guide/text.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ name, text string }{
		{"a text of some length", string(guide)},
		{"people with settings of their own",
			"people:\n" + lines(1500,
				"  sub-%04d:\n    repair: [F6, F8]\n    highpass: 0.1Hz\n    reject: 150uV\n")},
		{"signs in quotes", "a: '" + strings.Repeat("[{", 1000) + "'\nb: \"" + strings.Repeat("- ",
			1000) + "&*!\"\nc: |\n  " + strings.Repeat("[", 1000) + "\n"},
		{"signs in a comment", "# " + strings.Repeat("[", 1000) + "\na: 1\n"},
		{"signs amid words", "a: b&c*d!e\n"},
		{"a list of lists", "a:\n- - 1\n  - 2\n- [3, [4]]\n"},
		{"blank lines", "a: 1" + strings.Repeat("\n", mostBlank+1) + "b: |" + strings.Repeat("\r\n",
			mostBlank+1) + "  c\n"},
		{"a byte-order mark", "\ufeffa: 1\n"},
	} {
		if body, err := Parse([]byte(c.text), most); err != nil || body == nil {
			t.Errorf("%s: %v, %v", c.name, body, err)
		}
	}
	for _, empty := range []string{"", "\n", "# only this\n", "---\n", "\ufeff"} {
		if body, err := Parse([]byte(empty), most); err != nil || body != nil {
			t.Errorf("%q: %v, %v: want no document", empty, body, err)
		}
	}
}

// What is refused and what is taken costs at most this, be it as long as it
// may: a fifth of what the parser would take for a twentieth of the brackets.
// Time grows as memory does.
func TestParseCosts(t *testing.T) {
	const megabytes = 1000
	fill := func(unit string) string { return strings.Repeat(unit, most/len(unit)) }
	key := strings.Repeat("k", longest)
	for _, c := range []struct{ name, text string }{
		{"brackets", fill("[")},
		{"brackets within the signs", strings.Repeat("[", mostSigns)},
		{"braces", fill("{a: ")},
		{"lists in a line", fill("- ")},
		{"keys within their number", lines(mostKeys, "k%d: 1\n")},
		{"keys without values", lines(mostSigns/2, "? k%d\n")},
		{"documents", strings.Repeat("---\n-\n", mostSigns/6)},
		{"values below long keys",
			strings.Repeat("{"+key+": ", mostDepth-1) + "[" + strings.Repeat("a,", mostSigns-100)},
		{"values below long keys in lines",
			stairs(mostDepth-2, key) + strings.Repeat(strings.Repeat(" ", mostDepth-2)+"- a\n", 30_000)},
		{"lists", "[" + strings.Repeat("[],", mostSigns/3-1)},
		{"values", "a:\n" + strings.Repeat("- x\n", mostSigns/2-2)},
		{"one long text", "a: \"" + strings.Repeat("b ", most/2-10) + "\""},
		{"one text of many lines", "a: |\n" + strings.Repeat("  b\n", mostSigns-10)},
		{"a text that ends in blank lines", "|\n" + strings.Repeat("\n", mostSigns-10)},
		{"blank lines of carriage returns", "|\n" + strings.Repeat(" \r", mostSigns-10)},
		{"nothing", strings.Repeat("\x00", most)},
	} {
		t.Run(c.name, func(t *testing.T) {
			used, err := cost(c.text)
			t.Logf("%d bytes, %.0f MB, %v", len(c.text), used, err)
			if used > megabytes {
				t.Errorf("%.0f MB for %d bytes: expected at most %d", used, len(c.text), megabytes)
			}
		})
	}
}

// cost is what parsing takes from the heap, MB.
func cost(text string) (used float64, err error) {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	_, err = Parse([]byte(text), most)
	runtime.ReadMemStats(&after)
	return float64(after.TotalAlloc-before.TotalAlloc) / 1e6, err
}

func FuzzParse(f *testing.F) {
	guide, err := os.ReadFile("../../render/guide/text.yaml")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(string(guide), 1)
	for _, unit := range []string{"[", "{a: ", "- ", "? ", "-\n", "---\n-\n", "|\n\n", "'a': ", "? [a]\n: b\n"} {
		f.Add(unit, 300)
	}
	f.Fuzz(func(t *testing.T, unit string, times int) {
		defer hostile.Budget(t, len(unit))()
		text := strings.Repeat(unit, max(0, min(times, 20_000/max(1, len(unit)))))
		if used, err := cost(text); used > 1+0.005*float64(len(text)) {
			t.Errorf("%.1f MB for %d bytes, %v", used, len(text), err)
		}
	})
}

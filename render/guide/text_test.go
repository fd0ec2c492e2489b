package guide

import (
	"bytes"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"unicode"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/layout/hostile"
	"calotte/render/canvas"
)

func TestEnglishReadsBack(t *testing.T) {
	text, err := ReadText(bytes.NewReader(englishText))
	if err != nil {
		t.Fatal(err)
	}
	if text.Caution.Last != "Local rules and a licensed practitioner decide." || text.Language != "en" {
		t.Errorf("read %q, %q", text.Language, text.Caution.Last)
	}
}

func TestReadTextRefuses(t *testing.T) {
	english := string(englishText)
	for _, c := range []struct{ name, text, want string }{
		{"nothing", "", "missing or empty"},
		{"a missing key", strings.Replace(english, "  nose: nose\n", "", 1),
			"common.nose is missing or empty: translate it"},
		{"an empty key", strings.Replace(english, "  nose: nose\n", "  nose: ' '\n", 1),
			"common.nose is missing or empty"},
		{"an unknown key", english + "extra: word\n", `unknown field "extra"`},
		{"a key twice", english + "language: fr\n", "already defined"},
		{"a filling lost", strings.Replace(english, "page {page} of {pages}", "page {page}", 1),
			"common.page has the fillings [page]: expected [page pages]"},
		{"a filling invented", strings.Replace(english, "  nose: nose\n", "  nose: '{nose}'\n", 1),
			"common.nose has the fillings [nose]"},
		{"no list", strings.Replace(english, "  asked:\n", "  asked: []\n  x:\n", 1), ""},
		{"not YAML", "{", "guide text"},
		{"endless", strings.Repeat("#", maxText+1), "65537 bytes: expected at most 65536"},
	} {
		_, err := ReadText(strings.NewReader(c.text))
		if err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: got %v, want an error of one line with %q", c.name, err, c.want)
		}
	}
}

func FuzzReadText(f *testing.F) {
	f.Add(englishText)
	f.Add([]byte("language: en\ncommon: {wearer: x}\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		defer hostile.Budget(t, len(data))()
		text, err := ReadText(bytes.NewReader(data))
		if err != nil {
			return
		}
		if err := text.walk(func(key string, s *string) error {
			if *s == "" {
				t.Errorf("%s is empty", key)
			}
			return nil
		}); err != nil {
			t.Error(err)
		}
	})
}

// Every key shows up on some page: each text is replaced by a word of its own,
// which is then looked for.
func TestEveryKeyIsUsed(t *testing.T) {
	english, err := English()
	if err != nil {
		t.Fatal(err)
	}
	coded := *english
	// Lists are shared with the English text: copy before writing.
	coded.Caution.Asked = append([]string(nil), coded.Caution.Asked...)
	coded.Caution.Rules = append([]Caution(nil), coded.Caution.Rules...)
	var keys []string
	err = coded.walk(func(key string, s *string) error {
		word := fmt.Sprintf("%dk", len(keys)+100)
		for _, b := range braces(*s) {
			word += "{" + b + "}"
		}
		keys, *s = append(keys, key), word
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	var all []string
	for _, o := range []Options{
		{},
		{Posture: Lying, Stand: Front, Bar: 98, Sites: layout.Set1010()},
		{Posture: Headrest, Caps: []Cap{{"M", 540, 580}}, Ground: "AFz", Reference: "Cz"},
		{Caps: []Cap{{"S", 300, 301}}},
	} {
		o.Text = &coded
		for _, h := range []head.Head{someHead, {Circumference: 560}, heads[5]} {
			v := h.Visit()
			v.Notes = []head.Note{{Kind: head.InionUncertain, Side: layout.Midline},
				{Kind: head.Scar, Side: layout.LeftSide}}
			v.Readings.NasionInion = append(v.Readings.NasionInion, v.Readings.NasionInion...)
			figures, err := Pages(surface(t, h), v, o)
			if err != nil {
				t.Fatal(err)
			}
			all = append(all, said(t, figures)...)
			for _, f := range figures {
				all = append(all, groupTitles(f)...)
			}
		}
		figures := blank(t, o)
		all = append(all, said(t, figures)...)
		for _, f := range figures {
			all = append(all, groupTitles(f)...)
		}
	}
	together := strings.Join(all, "\n")
	for i, key := range keys {
		if !strings.Contains(together, fmt.Sprintf("%dk", i+100)) && key != "language" {
			t.Errorf("%s is on no page", key)
		}
	}
}

// groupTitles is what screen readers say.
func groupTitles(f canvas.Figure) []string {
	var titles []string
	for _, i := range f.(*page).items {
		if g, ok := i.(group); ok {
			titles = append(titles, g.title)
		}
	}
	return titles
}

// What a technician reads is in text.yaml: the code holds no sentence but its
// errors.
func TestNoSentenceInTheCode(t *testing.T) {
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		set := token.NewFileSet()
		file, err := parser.ParseFile(set, name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.CallExpr:
				if f, ok := n.Fun.(*ast.SelectorExpr); ok &&
					(f.Sel.Name == "Errorf" || f.Sel.Name == "New" || f.Sel.Name == "fail") {
					return false
				}
			case *ast.ImportSpec, *ast.Field:
				return false
			case *ast.BasicLit:
				if text, err := strconv.Unquote(n.Value); err == nil && n.Kind == token.STRING &&
					isSentence(text) {
					t.Errorf("%v: %q belongs into text.yaml", set.Position(n.Pos()), text)
				}
			}
			return true
		})
	}
}

// isSentence finds three words of small letters.
func isSentence(text string) bool {
	words := 0
	for _, w := range strings.Fields(text) {
		if len(w) > 2 && strings.IndexFunc(w, func(r rune) bool { return !unicode.IsLower(r) }) < 0 {
			words++
		}
	}
	return words > 2
}

// A translation that is half as long again wraps; one without bounds is an
// error that says where.
func TestLongTranslations(t *testing.T) {
	english, err := English()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name   string
		change func(*Text)
		want   string
	}{
		{"a longer instruction", func(x *Text) { x.Sheet1.Crossing += " " + x.Sheet1.Crossing }, ""},
		{"a longer check", func(x *Text) { x.Sheet2.Rules.Ring.Name = "Kopfumfang, über Fpz, T7, Oz, T8" }, ""},
		{"longer cautions", func(x *Text) { x.Caution.Short += " " + x.Caution.Short }, ""},
		{"a column's head", func(x *Text) { x.Sheet3.Impedance = strings.Repeat("Übergangswiderstand", 3) },
			"shorten it"},
		{"a title", func(x *Text) { x.Sheet2.Title = strings.Repeat("Kontrollmessungen ", 20) }, "shorten it"},
		{"too many checks", func(x *Text) { x.Sheet2.Intro = strings.Repeat(x.Sheet2.Intro+" ", 60) },
			"shorten"},
		{"a fix without end", func(x *Text) {
			x.Sheet2.Rules.Ring.Fix = strings.Repeat("noch einmal messen ",
				12)
		},
			"shorten"},
	} {
		text := *english
		c.change(&text)
		_, err := Pages(surface(t, someHead), someHead.Visit(), Options{Text: &text, Paper: Letter})
		if c.want == "" && err != nil ||
			c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)) {
			t.Errorf("%s: got %v, want an error with %q", c.name, err, c.want)
		}
	}
}

// The file is UTF-8 without tabs, which some translators' tools break.
func TestTextFile(t *testing.T) {
	data, err := os.ReadFile("text.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if bytes.ContainsAny(data, "\t\r") {
		t.Error("text.yaml has tabs or carriage returns")
	}
}

package page

import (
	"bytes"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/layout/hostile"
	"calotte/render/scalp"
	"calotte/topo"
	"calotte/topo/provenance"
)

// unpack reads a packed table, in its unit.
func unpack(t interface{ Fatal(...any) }, p packed) [][]float64 {
	numbers, err := p.numbers()
	if err != nil {
		t.Fatal(err)
	}
	rows := make([][]float64, len(numbers))
	for i, row := range numbers {
		for _, n := range row {
			rows[i] = append(rows[i], float64(n)*p.Step)
		}
	}
	return rows
}

// What is packed comes back to half a step, whatever it is.
func TestPackRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		columns := rapid.IntRange(1, 40).Draw(t, "columns")
		step := rapid.SampledFrom([]float64{1e-3, 1e-4, 1}).Draw(t, "step")
		value := rapid.Float64Range(-1e6*step*1000, 1e6*step*1000)
		rows := rapid.SliceOfN(rapid.SliceOfN(value, columns, columns), 1, 5).Draw(t, "rows")
		p, err := pack(rows, step, rapid.IntRange(1, 3).Draw(t, "order"))
		if err != nil {
			t.Fatal(err)
		}
		for i, row := range unpack(t, p) {
			for k, v := range row {
				if math.Abs(v-rows[i][k]) > step*.5000001 {
					t.Fatalf("%g came back as %g with steps of %g", rows[i][k], v, step)
				}
			}
		}
	})
}

// aStudy is of 19 sites and noise.
func aStudy(t testing.TB) *Study {
	t.Helper()
	placed, err := layout.Place(head.Sphere(89), layout.Set1020())
	if err != nil {
		t.Fatal(err)
	}
	sites := layout.Sites(placed)
	spline, err := topo.New(sites, topo.Options{Radius: 89})
	if err != nil {
		t.Fatal(err)
	}
	random := rand.New(rand.NewPCG(1, 2))
	s := &Study{Title: "pilots", Sites: sites, Spline: spline, Head: head.Sphere(89),
		Made: provenance.Record{Program: "calotte", Version: "0", Work: "explore"}}
	c := Condition{Title: "known", Marks: make([]scalp.MarkKind, len(sites))}
	for i := range 50 {
		s.Times = append(s.Times, float64(i)*.01)
	}
	for range sites {
		row := make([]float64, len(s.Times))
		for i := range row {
			row[i] = 5 * random.NormFloat64()
		}
		c.Values = append(c.Values, row)
	}
	s.Conditions = []Condition{c}
	return s
}

// The embedded weights are the spline: their product with amplitudes is its
// field at every node and site, but for the rounding of the weights.
func TestKernelIsTheSpline(t *testing.T) {
	s := aStudy(t)
	g := newGrid(len(s.Sites))
	points := g.directions(s.Head)
	for _, x := range s.Sites {
		points = append(points, x.Position)
	}
	amplitudes := mat.NewDense(len(s.Sites), 1, nil)
	for i, row := range s.Conditions[0].Values {
		amplitudes.Set(i, 0, row[7])
	}
	coefficients, err := s.Spline.Solve(amplitudes)
	if err != nil {
		t.Fatal(err)
	}
	for _, q := range []topo.Quantity{topo.Potential, topo.CurrentDensity} {
		want := s.Spline.Interpolate(points, q, coefficients)
		k, err := s.know(g)
		if err != nil {
			t.Fatal(err)
		}
		var f field
		if err := s.fill(&f, g, q, k, 0); err != nil {
			t.Fatal(err)
		}
		rows := unpack(t, *f.Kernel)
		for i, row := range unpack(t, *f.AtSites) {
			rows[i] = append(rows[i], row...)
		}
		largest, worst := 0., 0.
		for n := range points {
			sum := 0.
			for i, row := range rows {
				sum += row[n] * amplitudes.At(i, 0)
			}
			largest, worst = max(largest, math.Abs(want.At(n, 0))), max(worst, math.Abs(sum-want.At(n, 0)))
		}
		t.Logf("%v: off by %.2g of %.3g", q, worst, largest)
		if worst > 5e-4*largest {
			t.Errorf("%v: the weights are off by %.3g of %.3g", q, worst, largest)
		}
	}
}

// The policy lets in the script and the style that are there, by their hashes,
// and nothing of the page names another place to load from.
func TestPolicy(t *testing.T) {
	var b bytes.Buffer
	s := aStudy(t)
	s.Title = `</title><script>alert(1)</script>`
	if err := Write(&b, s); err != nil {
		t.Fatal(err)
	}
	html := b.String()
	inner := func(open, close string) string {
		_, rest, ok := strings.Cut(html, open)
		text, _, closed := strings.Cut(rest, close)
		if !ok || !closed {
			t.Fatalf("no %s", open)
		}
		return text
	}
	policy := strings.ReplaceAll(inner(`http-equiv="Content-Security-Policy" content="`, `"`), "&#39;", "'")
	policy = strings.ReplaceAll(policy, "&#43;", "+")
	for _, source := range []string{"'" + sha(inner(`<script type="module">`, "</script>")) + "'",
		"'" + sha(inner("<style>", "</style>")) + "'", "default-src 'none'", "base-uri 'none'"} {
		if !strings.Contains(policy, source) {
			t.Errorf("the policy %q lacks %s", policy, source)
		}
	}
	if strings.Contains(policy, "unsafe") || strings.Contains(policy, "connect-src") {
		t.Errorf("the policy is %q", policy)
	}
	if strings.Contains(html, "<script>alert") {
		t.Error("the title became a script")
	}
	if found := regexp.MustCompile(`(?i)\b(?:src|href)\s*=\s*["'](?:https?:)?//`).FindString(html); found != "" {
		t.Errorf("the page loads from elsewhere: %s", found)
	}
	p, err := ReadProvenance(b.Bytes())
	if err != nil || p.Work != "explore" {
		t.Errorf("%+v, %v", p, err)
	}
	s.Stamp = "1"
	b.Reset()
	if err := Write(&b, s); err != nil || !strings.Contains(b.String(), "connect-src") {
		t.Errorf("a served page cannot ask its server: %v", err)
	}
}

func TestWriteRefuses(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*Study)
		want   string
	}{
		{"no condition", func(s *Study) { s.Conditions = nil }, "needs"},
		{"a short row", func(s *Study) { s.Conditions[0].Values[3] = s.Conditions[0].Values[3][1:] },
			"expected 50"},
		{"a site without values", func(s *Study) { s.Conditions[0].Values = s.Conditions[0].Values[1:] },
			"rows of values"},
		{"no number", func(s *Study) { s.Conditions[0].Values[0][0] = math.NaN() }, "NaN"},
		{"volts", func(s *Study) { s.Conditions[0].Values[0][0] = 1e9 }, "at most"},
		{"errors of fewer sites", func(s *Study) { s.Conditions[0].Errors = s.Conditions[0].Values[1:] },
			"standard errors"},
		{"no marks", func(s *Study) { s.Conditions[0].Marks = nil }, "marks"},
		{"a link to a doubt that is none", func(s *Study) { s.Links = []Link{{"a", "doubt=maybe"}} },
			"on, off"},
		{"a link astray", func(s *Study) { s.Links = []Link{{"a", "site=Q1"}} }, "Q1"},
	} {
		s := aStudy(t)
		c.change(s)
		if err := Write(io.Discard, s); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
}

func FuzzCheckLink(f *testing.F) {
	s := aStudy(f)
	for _, text := range []string{"at=170ms&pair=P7,P8", "#site=Cz&view=left", "minus=known,known", "at=%zz", "=",
		"&&",
		"theme=dark&at=-1s", "at=\r", "at=1%2C%0A5", "site=%0A", "scale=%0A",
		"field=interpolation&doubt=on&rings=off"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		defer hostile.Budget(t, len(text))()
		if err := s.CheckLink(text); err != nil && strings.ContainsAny(err.Error(), "\r\n") {
			t.Errorf("more than a line: %q", err)
		}
	})
}

func FuzzReadProvenance(f *testing.F) {
	f.Add([]byte(provenanceStart + `{"work":"explore"}</script>`))
	for _, text := range hostile.Seeds(f, os.DirFS("../../testdata/corpus"), "figures/*.html") {
		f.Add(text)
	}
	f.Add([]byte(provenanceStart))
	f.Add([]byte(""))
	f.Fuzz(func(t *testing.T, text []byte) {
		defer hostile.Budget(t, len(text))()
		if p, err := ReadProvenance(text); err != nil && p.Work != "" {
			t.Errorf("%+v and %v", p, err)
		}
	})
}

func BenchmarkWrite(b *testing.B) {
	s := aStudy(b)
	for b.Loop() {
		if err := Write(io.Discard, s); err != nil {
			b.Fatal(err)
		}
	}
}

// Texts have a contrast of 4.5 against what they stand on, and borders of
// controls one of 3, on the light and on the dark page (WCAG 2.1, 1.4.3 and
// 1.4.11, from memory).
func TestContrast(t *testing.T) {
	themes := regexp.MustCompile(`(?s):root(\[data-theme="dark"\])? \{(.*?)\}`).FindAllStringSubmatch(style, 2)
	if len(themes) != 2 {
		t.Fatalf("%d themes", len(themes))
	}
	for _, theme := range themes {
		colour := map[string]float64{} // relative luminance
		for _, m := range regexp.MustCompile(`--([\w-]+): #(..)(..)(..);`).FindAllStringSubmatch(theme[2], -1) {
			for i, weight := range []float64{.2126, .7152, .0722} {
				v, err := strconv.ParseUint(m[2+i], 16, 8)
				if err != nil {
					t.Fatal(err)
				}
				c := float64(v) / 255
				if c <= .04045 {
					c /= 12.92
				} else {
					c = math.Pow((c+.055)/1.055, 2.4)
				}
				colour[m[1]] += weight * c
			}
		}
		contrast := func(a, b string) float64 {
			x, y := colour[a], colour[b]
			if x == 0 && y == 0 {
				t.Fatalf("no colours %s and %s", a, b)
			}
			return (max(x, y) + .05) / (min(x, y) + .05)
		}
		for _, c := range []struct {
			text, on string
			least    float64
		}{
			{"ink", "paper", 4.5}, {"ink", "ground", 4.5}, {"quiet", "paper", 4.5},
			{"quiet", "ground", 4.5},
			{"accent", "paper", 4.5}, {"on-accent", "accent", 4.5}, {"rule", "paper", 3},
		} {
			if got := contrast(c.text, c.on); got < c.least {
				t.Errorf("theme %q: %s on %s has a contrast of %.2f, want %g", theme[1], c.text, c.on,
					got,
					c.least)
			}
		}
	}
}

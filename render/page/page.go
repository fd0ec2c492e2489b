package page

import (
	"bytes"
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"html/template"
	"image/color"
	"io"
	"math"

	"calotte/layout"
	"calotte/render/chart"
	"calotte/render/palette"
	"calotte/render/scalp"
	"calotte/topo"
	"calotte/topo/measure"
	"calotte/topo/provenance"
)

//go:embed bundle.js
var script string

//go:embed web/page.css
var style string

//go:embed web/page.html
var markup string

// Write writes the page. It is one file whose Content-Security-Policy lets
// nothing but its own script and style in, and no request out.
func Write(w io.Writer, s *Study) error {
	if err := s.validate(); err != nil {
		return err
	}
	for _, l := range s.Links {
		if err := s.CheckLink(l.State); err != nil {
			return fmt.Errorf("link %q: %w", l.Name, err)
		}
	}
	data, err := s.data()
	if err != nil {
		return err
	}
	study, err := json.Marshal(data) // which escapes <, > and &
	if err != nil {
		return err
	}
	made, err := json.Marshal(s.Made)
	if err != nil {
		return err
	}
	t, err := template.New("page").Parse(markup)
	if err != nil {
		return err
	}
	connect := ""
	if s.Stamp != "" {
		connect = " connect-src 'self';"
	}
	return t.Execute(w, map[string]any{
		"Title": s.Title,
		"Policy": fmt.Sprintf("default-src 'none'; script-src '%s'; style-src '%s'; img-src data: "+
			"blob:;%s base-uri "+
			"'none'; form-action 'none'", sha(script), sha(style), connect),
		"Style":  template.CSS(style),
		"Script": template.JS(script),
		"Study":  template.JS(study),
		"Made":   template.JS(made),
	})
}

// sha is the source expression of a Content-Security-Policy for a text.
func sha(text string) string {
	sum := sha256.Sum256([]byte(text))
	return "sha256-" + base64.StdEncoding.EncodeToString(sum[:])
}

// valueStep is how finely amplitudes are kept, in µV.
const valueStep = 1e-3

// study is the data of a page as its script reads them.
type study struct {
	Title      string              `json:"title"`
	Synthetic  bool                `json:"synthetic"`
	Reference  string              `json:"reference"`
	Digitised  bool                `json:"digitised"`
	Remarks    []string            `json:"remarks"`
	First      float64             `json:"first"`  // s
	Period     float64             `json:"period"` // s
	Samples    int                 `json:"samples"`
	ValueStep  float64             `json:"valueStep"` // µV
	Sites      []site              `json:"sites"`
	Pairs      [][2]int            `json:"pairs"`
	Conditions []condition         `json:"conditions"`
	Grid       grid                `json:"grid"`
	Fields     []field             `json:"fields"`
	Views      []view              `json:"views"`
	Largest    float64             `json:"largest"` // µV, at any electrode and sample
	Colours    []string            `json:"colours"`
	Curves     []curve             `json:"curves"`
	Windows    []Window            `json:"windows"`
	Chosen     []chosen            `json:"chosen"`
	Choice     string              `json:"choice"`
	Measures   Table               `json:"measures"`
	Links      []Link              `json:"links"`
	Methods    string              `json:"methods"`
	Inputs     []provenance.Source `json:"inputs"`
	Program    string              `json:"program"`
	Stamp      string              `json:"stamp"`
}

type site struct {
	Name string  `json:"name"`
	X    float64 `json:"x"`
	Y    float64 `json:"y"`
	Z    float64 `json:"z"`
}

type condition struct {
	Title      string           `json:"title"`
	Note       string           `json:"note"`
	Name       string           `json:"name"`
	Label      string           `json:"label"`
	Of         string           `json:"of,omitempty"`
	Minus      string           `json:"minus,omitempty"`
	Values     packed           `json:"values"`
	Errors     *packed          `json:"errors,omitempty"`
	PairErrors *packed          `json:"pairErrors,omitempty"`
	Half       float64          `json:"half,omitempty"`
	Over       string           `json:"over,omitempty"`
	Marks      []scalp.MarkKind `json:"marks"`
}

// A field is a quantity that is mapped, with the scales it may have.
type field struct {
	Name   string `json:"name"`
	Title  string `json:"title"`
	Short  string `json:"short"` // for lists to choose from
	Unit   string `json:"unit"`
	Kernel packed `json:"kernel"`
	// AtSites are the weights at the sites, kept more finely, since their
	// values are read.
	AtSites packed  `json:"atSites"`
	Scales  []scale `json:"scales"`
	Chosen  int     `json:"chosen"` // the scale to begin with
}

type scale struct {
	Limit float64 `json:"limit"`
	Step  float64 `json:"step"` // of ticks and contours
}

type curve struct {
	Light string    `json:"light"`
	Dark  string    `json:"dark"`
	Dash  []float64 `json:"dash"`
}

type chosen struct {
	Site int     `json:"site"`
	From float64 `json:"from"`
	To   float64 `json:"to"`
}

func (s *Study) data() (*study, error) {
	n := len(s.Times)
	d := &study{
		Title: s.Title, Synthetic: s.Synthetic, Reference: s.Reference, Digitised: s.Digitised,
		Remarks: listed(s.Remarks),
		First:   s.Times[0], Period: (s.Times[n-1] - s.Times[0]) / float64(n-1), Samples: n,
		ValueStep: valueStep,
		Grid:      newGrid(len(s.Sites)), Curves: curves(), Windows: listed(s.Windows), Chosen: []chosen{},
		Pairs: [][2]int{}, Choice: s.Choice,
		Measures: Table{listed(s.Measures.Columns), listed(s.Measures.Rows)},
		Links:    listed(s.Links),
		Methods:  s.Methods, Inputs: listed(s.Made.Inputs), Program: s.Made.Program + " " + s.Made.Version,
		Stamp: s.Stamp,
	}
	for _, x := range s.Sites {
		p := x.Position
		d.Sites = append(d.Sites, site{x.Name, rounded(p.X), rounded(p.Y), rounded(p.Z)})
	}
	for _, p := range s.pairs() {
		d.Pairs = append(d.Pairs, [2]int{p.Left, p.Right})
	}
	for _, c := range s.Chosen {
		d.Chosen = append(d.Chosen, chosen(c))
	}
	for i := range colourSteps {
		d.Colours = append(d.Colours, hex(palette.Diverging.At(2*float64(i)/(colourSteps-1)-1)))
	}
	for _, c := range s.Conditions {
		packed, err := c.packed()
		if err != nil {
			return nil, err
		}
		d.Conditions = append(d.Conditions, packed)
	}
	for _, q := range []topo.Quantity{topo.Potential, topo.CurrentDensity} {
		f, err := s.field(d.Grid, q)
		if err != nil {
			return nil, err
		}
		d.Fields = append(d.Fields, f)
	}
	known, err := s.know()
	if err != nil {
		return nil, err
	}
	d.Largest = known.Largest
	d.Views, err = s.views(d.Grid, known)
	return d, err
}

// listed is a list that is [] in JSON where it is empty.
func listed[T any](list []T) []T { return append([]T{}, list...) }

// colourSteps are the colours of the scale, from the lowest to the highest.
const colourSteps = 257

func hex(c color.RGBA) string { return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B) }

func curves() []curve {
	var list []curve
	for i, c := range palette.Categories() {
		k := curve{Light: hex(c), Dark: hex(palette.CategoriesOnDark()[i])}
		for _, l := range chart.CurveDash(i) {
			k.Dash = append(k.Dash, float64(l))
		}
		list = append(list, k)
	}
	return list
}

func (c Condition) packed() (condition, error) {
	out := condition{Title: c.Title, Note: c.Note, Name: c.Name, Label: c.Label, Of: c.Of, Minus: c.Minus,
		Half: c.Half,
		Over: c.Over, Marks: c.Marks}
	var err error
	if out.Values, err = pack(c.Values, valueStep, ofCourses); err != nil {
		return out, err
	}
	for _, t := range []struct {
		rows [][]float64
		to   **packed
	}{{c.Errors, &out.Errors}, {c.PairErrors, &out.PairErrors}} {
		if t.rows == nil {
			continue
		}
		p, err := pack(t.rows, valueStep, ofCourses)
		if err != nil {
			return out, err
		}
		*t.to = &p
	}
	return out, nil
}

// pairs are the mirror pairs of the sites.
func (s *Study) pairs() []layout.Pair {
	var names []string
	for _, site := range s.Sites {
		names = append(names, site.Name)
	}
	return layout.Pairs(names)
}

// field prepares a quantity: its kernel, and the scales around the one that
// holds all values at the sites.
func (s *Study) field(g grid, q topo.Quantity) (field, error) {
	f := field{Name: "potential", Title: "potential", Short: "potential", Unit: "µV"}
	if q == topo.CurrentDensity {
		f = field{
			Name: "csd", Title: "current density, estimated by the surface Laplacian",
			Short: "current density", Unit: "µV/cm²",
		}
	}
	kernel, err := s.kernel(g, q)
	if err != nil {
		return f, err
	}
	var nodes, sites [][]float64
	for _, row := range kernel {
		nodes, sites = append(nodes, row[:len(g.at)]), append(sites, row[len(g.at):])
	}
	if f.Kernel, err = pack(nodes, kernelStep(nodes), ofSmooth); err != nil {
		return f, err
	}
	const finer = 1 << 12
	if f.AtSites, err = pack(sites, kernelStep(sites)/finer, 1); err != nil {
		return f, err
	}
	noise := 0.
	if q == topo.Potential {
		noise = s.standardError()
	}
	largest := s.largest(kernel, len(g.at))
	for limit := scalp.NiceLimit(largest / 30); limit <=
		scalp.NiceLimit(8*largest); limit = scalp.NiceLimit(limit * 1.01) {
		if limit < largest*(1-1e-9) {
			f.Chosen = len(f.Scales) + 1
		}
		f.Scales = append(f.Scales, scale{limit, scalp.ContourStep(limit, noise)})
	}
	return f, nil
}

// largest is the largest magnitude at a site, over all conditions and samples.
func (s *Study) largest(kernel [][]float64, nodes int) float64 {
	largest := 0.
	sums := make([]float64, len(s.Times))
	for _, c := range s.Conditions {
		for at := range s.Sites {
			clear(sums)
			for from, row := range c.Values {
				w := kernel[from][nodes+at]
				for t, v := range row {
					sums[t] += w * v
				}
			}
			for _, v := range sums {
				largest = max(largest, math.Abs(v))
			}
		}
	}
	if largest == 0 {
		return 1
	}
	return largest
}

// standardError is the median of those that are known, in µV.
func (s *Study) standardError() float64 {
	var all []float64
	for _, c := range s.Conditions {
		for _, row := range c.Errors {
			all = append(all, row...)
		}
	}
	if len(all) == 0 {
		return 0
	}
	return measure.Median(all)
}

// provenanceStart is what stands before the provenance in a page.
const provenanceStart = `<script type="application/json" id="provenance">`

// ReadProvenance reads what a page says of how it was made.
func ReadProvenance(text []byte) (provenance.Record, error) {
	_, rest, found := bytes.Cut(text, []byte(provenanceStart))
	record, _, whole := bytes.Cut(rest, []byte("</script>"))
	if !found || !whole {
		return provenance.Record{}, errors.New("no provenance: expected a page that calotte wrote, whole")
	}
	return provenance.Read(record)
}

package average

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"calotte/topo/internal/erptest"
	"calotte/topo/provenance"
)

// numpyTables is a combination by testdata/erp/combine.py.
type numpyTables struct {
	Mean, SEM, Pairs [][]float64
	PairSEM          [][]float64 `json:"pair_sem"`
}

// numpyStudy is the data and the results of testdata/erp/combine.py.
type numpyStudy struct {
	Mean, SEM  [2][][][]float64 // condition × participant × site × sample
	PairSEM    [2][][][]float64 `json:"pair_sem"`
	Epochs     [2][]int
	Grand      struct{ Plain, Weighted numpyTables }
	Difference numpyTables
	Within     struct {
		Mean, SEM, Pairs [][][]float64
		PairSEM          [][][]float64 `json:"pair_sem"`
	}
}

var conditionNames = [2]string{"known", "novel"}

// participants makes the averages of one condition of the study.
func (s *numpyStudy) participants(condition int) []*Average {
	var as []*Average
	for i, mean := range s.Mean[condition] {
		as = append(as, &Average{
			Info: Info{
				Kind: Participant, Name: fmt.Sprintf("sub-%02d", i+1),
				Condition: conditionNames[condition],
				Epochs:    &Counts{Kept: s.Epochs[condition][i]}, Reference: "average of 4 sites",
				Baseline: "-200..0ms",
				Filters:  "none", Rate: 100,
				Files: []provenance.Source{{Name: "f", SHA256: fmt.Sprint(condition, i)}},
			},
			Sites: []string{"P7", "P8", "Cz", "Oz"}, Times: []float64{0, 0.01, 0.02},
			Mean: mean, SEM: s.SEM[condition][i],
			Pairs: Pairs{Names: []string{"P8-P7"},
				Mean: pairMeans([]string{"P7", "P8", "Cz", "Oz"}, mean).Mean,
				SEM:  s.PairSEM[condition][i]},
		})
	}
	return as
}

func study(t *testing.T) *numpyStudy {
	var s numpyStudy
	erptest.ReadJSON(t, "combine.json", &s)
	return &s
}

func wantTables(t *testing.T, what string, a *Average, want numpyTables) {
	t.Helper()
	for name, table := range map[string]struct{ got, want [][]float64 }{
		"mean": {a.Mean, want.Mean}, "SEM": {a.SEM, want.SEM}, "pairs": {a.Pairs.Mean, want.Pairs},
		"SEM of pairs": {a.Pairs.SEM, want.PairSEM},
	} {
		if len(table.got) != len(table.want) {
			t.Errorf("%s: %d rows of %s, want %d", what, len(table.got), name, len(table.want))
			continue
		}
		for i := range table.got {
			for j, x := range table.got[i] {
				if !erptest.Near(x, table.want[i][j], 1e-13) {
					t.Errorf("%s: %s[%d][%d] %v, want %v", what, name, i, j, x, table.want[i][j])
				}
			}
		}
	}
}

func TestGrandAgainstNumpy(t *testing.T) {
	s := study(t)
	for weighted, want := range map[bool]numpyTables{false: s.Grand.Plain, true: s.Grand.Weighted} {
		g, err := Grand("pilots", s.participants(0), weighted)
		if err != nil {
			t.Fatal(err)
		}
		wantTables(t, fmt.Sprint("weighted ", weighted), g, want)
		i := g.Info
		if i.Kind != GrandAverage || i.Name != "pilots" || i.Condition != "known" || i.Weighted != weighted ||
			len(i.Members) != 5 ||
			i.Members[4].Name != "sub-05" || i.Members[4].Epochs != s.Epochs[0][4] ||
			i.Members[4].Files[0].SHA256 != "0 4" {
			t.Errorf("%+v", i)
		}
		if i.Reference != "average of 4 sites" || i.Baseline != "-200..0ms" || i.Filters != "none" ||
			i.Rate != 100 ||
			i.Epochs != nil {
			t.Errorf("%+v", i)
		}
	}
}

func TestDifferencesAgainstNumpy(t *testing.T) {
	s := study(t)
	other := s.participants(1)
	slices.Reverse(other)
	ds, err := Differences(s.participants(0), other)
	if err != nil {
		t.Fatal(err)
	}
	for i, d := range ds {
		wantTables(t, d.Info.Name, d,
			numpyTables{s.Within.Mean[i], s.Within.SEM[i], s.Within.Pairs[i], s.Within.PairSEM[i]})
		if d.Info.Title() != "known minus novel" || d.Info.Slug() != "known-novel" ||
			d.Info.Name != fmt.Sprintf("sub-%02d", i+1) || d.Info.Kind != Participant ||
			d.Info.Epochs != nil {
			t.Errorf("%+v", d.Info)
		}
		if m := d.Info.Members; len(m) != 2 || m[0].Condition != "known" || m[1].Condition != "novel" ||
			m[0].Epochs != s.Epochs[0][i] || m[1].Epochs != s.Epochs[1][i] {
			t.Errorf("members %+v", m)
		}
	}
	g, err := Grand("pilots", ds, false)
	if err != nil {
		t.Fatal(err)
	}
	wantTables(t, "grand difference", g, s.Difference)
	if g.Info.Title() != "known minus novel" {
		t.Errorf("title %q", g.Info.Title())
	}
	if m := g.Info.Members[3]; m.Epochs != s.Epochs[0][3] || m.Minus != s.Epochs[1][3] {
		t.Errorf("member %+v, want the epochs of both conditions", m)
	}
	if m := g.Info.Members[3]; m.Name != "sub-04" || len(m.Files) != 2 || m.Files[0].SHA256 != "0 3" ||
		m.Files[1].SHA256 != "1 3" {
		t.Errorf("member %+v, want the files of both conditions", m)
	}
	_, err = Grand("pilots", ds, true)
	erptest.WantError(t, err,
		`the number of epochs behind "sub-01" (known minus novel) is not known, or not one number: leave the weights out`)
}

// reordered is a with its sites in another order and spelling; its numbers,
// pairs included, are laid out anew from scratch.
func reordered(a *Average, sites string) *Average {
	b := *a
	b.Sites, b.Mean, b.SEM = strings.Fields(sites), nil, nil
	for _, s := range b.Sites {
		i := slices.IndexFunc(a.Sites, func(o string) bool { return canonical(o) == canonical(s) })
		b.Mean, b.SEM = append(b.Mean, a.Mean[i]), append(b.SEM, a.SEM[i])
	}
	b.Pairs.Names = PairNames(b.Sites)
	return &b
}

func TestSitesInAnotherOrder(t *testing.T) {
	s := study(t)
	members := s.participants(0)
	members[1] = reordered(members[1], "Oz T6 Cz T5")
	members[4] = reordered(members[4], "p8 p7 oz cz")
	g, err := Grand("pilots", members, false)
	if err != nil {
		t.Fatal(err)
	}
	wantTables(t, "grand", g, s.Grand.Plain)
	if strings.Join(g.Sites, " ") != "P7 P8 Cz Oz" {
		t.Errorf("sites %v", g.Sites)
	}
	d, err := Difference(s.participants(0)[2], reordered(s.participants(1)[2], "Oz T6 Cz T5"))
	if err != nil {
		t.Fatal(err)
	}
	wantTables(t, "difference", d,
		numpyTables{s.Within.Mean[2], s.Within.SEM[2], s.Within.Pairs[2], s.Within.PairSEM[2]})
}

// Two pairs whose order depends on that of the sites keep their own errors.
func TestPairsInAnotherOrder(t *testing.T) {
	average := func(condition, sites string, pairSEM ...float64) *Average {
		a := &Average{Info: Info{Name: "sub-01", Condition: condition}, Sites: strings.Fields(sites),
			Times: []float64{0, 1}}
		for range a.Sites {
			a.Mean = append(a.Mean, []float64{0, 0})
		}
		a.Pairs = pairMeans(a.Sites, a.Mean)
		for _, x := range pairSEM {
			a.Pairs.SEM = append(a.Pairs.SEM, []float64{x, x})
		}
		return a
	}
	d, err := Difference(average("known", "C3 C4 P7 P8", 3, 5), average("novel", "T6 T5 C4 C3", 12, 4))
	if err != nil {
		t.Fatal(err)
	}
	if strings.Join(d.Pairs.Names, " ") != "C4-C3 P8-P7" || d.Pairs.SEM[0][0] != 5 || d.Pairs.SEM[1][0] != 13 {
		t.Errorf("%v ± %v, want C4-C3 ± 5 and P8-P7 ± 13", d.Pairs.Names, d.Pairs.SEM)
	}
}

// Where one of two errors is not known, that of the difference is not either.
func TestDifferenceWithoutErrors(t *testing.T) {
	s := study(t)
	a, b := s.participants(0)[0], s.participants(1)[0]
	b.SEM, b.Pairs = nil, Pairs{}
	d, err := Difference(a, b)
	if err != nil || d.SEM != nil || d.Pairs.SEM != nil || len(d.Pairs.Mean) != 1 {
		t.Errorf("%+v, %v", d, err)
	}
}

func TestCombinationsLeaveTheirPartsAlone(t *testing.T) {
	s, fresh := study(t), study(t)
	known, novel := s.participants(0), s.participants(1)
	for _, combine := range []func() (*Average, error){
		func() (*Average, error) { return Grand("g", known, true) },
		func() (*Average, error) { return Difference(known[0], novel[0]) },
	} {
		c, err := combine()
		if err != nil {
			t.Fatal(err)
		}
		c.Mean[0][0], c.SEM[0][0], c.Pairs.Mean[0][0], c.Pairs.SEM[0][0] = 1e9, 1e9, 1e9, 1e9
	}
	for i, a := range known {
		want := fresh.participants(0)[i]
		wantTables(t, a.Info.Name, a, numpyTables{want.Mean, want.SEM, want.Pairs.Mean, want.Pairs.SEM})
	}
}

func TestCombinationsRefuse(t *testing.T) {
	grand := func(as []*Average) error { _, err := Grand("g", as, false); return err }
	weighted := func(as []*Average) error { _, err := Grand("g", as, true); return err }
	difference := func(as []*Average) error { _, err := Difference(as[0], as[5]); return err }
	differences := func(as []*Average) error { _, err := Differences(as[:5], as[5:]); return err }
	for _, c := range []struct {
		what    string
		change  func(as []*Average) // known of five, novel of five
		combine func(as []*Average) error
		want    string
	}{
		{"one", nil, func(as []*Average) error { return grand(as[:1]) },
			"a grand average needs two participants or more, 1 given"},
		{"two conditions", nil, grand, `"sub-01" (known) and "sub-01" (novel) are different conditions`},
		{"one person twice", func(as []*Average) { as[3].Info.Name = "sub-02" },
			func(as []*Average) error { return grand(as[:5]) },
			`participant "sub-02" is there twice in condition known: average all recordings of a person together first`},
		{"a grand average", func(as []*Average) { as[1].Info.Kind = GrandAverage }, grand,
			`"sub-02" is a grand average already`},
		{"weights not known", func(as []*Average) { as[1].Info.Epochs = nil },
			func(as []*Average) error { return weighted(as[:5]) },
			`the number of epochs behind "sub-02" (known) is not known`},
		{"weights of zero", func(as []*Average) { as[1].Info.Epochs.Kept = 0 },
			func(as []*Average) error { return weighted(as[:5]) }, `epochs behind "sub-02"`},
		{"other reference", func(as []*Average) { as[5].Info.Reference = "Cz" }, difference,
			`"sub-01" (known) has the reference "average of 4 sites", "sub-01" (novel) "Cz": bring them to one reference first`},
		{"other baseline", func(as []*Average) { as[2].Info.Baseline = "none" },
			func(as []*Average) error { return grand(as[:5]) },
			`"sub-03" (known) "none": average them with one baseline`},
		{"fewer samples", func(as []*Average) { as[5].Times = as[5].Times[:2] }, difference,
			"has 3 samples from 0ms to 20ms"},
		{"other times", func(as []*Average) { as[5].Times = []float64{0.01, 0.02, 0.03} }, difference,
			"average both with one epoch and rate"},
		{"other rate", func(as []*Average) { as[5].Times = []float64{0, 0.011, 0.022} }, difference,
			"3 from 0ms to 22ms"},
		{"a site less", func(as []*Average) { as[5] = reordered(as[5], "P7 P8 Cz") }, difference,
			`"sub-01" (novel) lacks Oz, which "sub-01" (known) has`},
		{"a site more", func(as []*Average) { as[0] = reordered(as[0], "P7 P8 Cz") }, difference,
			`"sub-01" (novel) has Oz, which "sub-01" (known) lacks`},
		{"another site", func(as []*Average) { as[5].Sites = strings.Fields("P7 P8 Pz Oz") }, difference,
			"lacks Cz"},
		{"grand averages", func(as []*Average) { as[5].Info.Kind = GrandAverage }, difference,
			`"sub-01" is a grand average: a difference is taken within each participant first`},
		{"of differences", func(as []*Average) { as[5].Info.Minus = "odd" }, difference,
			`"sub-01" (novel minus odd) is a difference already`},
		{"different people", func(as []*Average) { as[5].Info.Name = "sub-09" }, difference,
			`"sub-01" (known) and "sub-09" (novel) are different people`},
		{"one condition", func(as []*Average) { as[5].Info.Condition = "known" }, difference,
			`both averages of "sub-01" are of the condition "known"`},
		{"an event of both", func(as []*Average) {
			as[0].Info.Labels, as[5].Info.Labels = []string{"T1", "T2"},
				[]string{"T2"}
		}, difference,
			`the conditions known and novel of "sub-01" share the event "T2": subtract conditions that have no epoch in common`},
		{"epochs of both", func(as []*Average) { as[5].Info.Shares = []string{"known"} }, difference,
			`of "sub-01" share epochs`},
		{"a table twice", func(as []*Average) {
			as[3].Info.Files[0] = provenance.Source{Name: "copy",
				SHA256: "0 1"}
		},
			func(as []*Average) error { _, err := (Combination{Name: "g"}).Of(as); return err },
			`"sub-02" (known) and "sub-04" (known) hold the same table (f, copy): keep one`},
		{"no such condition", nil, func(as []*Average) error {
			_, err := (Combination{Minuend: "known", Subtrahend: "odd"}).Of(as)
			return err
		}, `no condition "odd" among the averages: there is known, novel`},
		{"one person for a group", nil,
			func(as []*Average) error { _, err := (Combination{Name: "g"}).Of(as[:1]); return err },
			"condition known: a grand average needs two participants"},
		{"leftovers", func(as []*Average) { as[3].Info.Name, as[5].Info.Name = "sub-08", "sub-09" },
			differences,
			`"sub-01" has no novel, "sub-08" has no novel, "sub-09" has no known, "sub-04" has no known: give both conditions of every participant`},
		{"twice before", func(as []*Average) { as[3].Info.Name = "sub-01" }, differences,
			`"sub-01" (known) is there twice: keep one`},
		{"twice behind", func(as []*Average) { as[8].Info.Name = "sub-01" }, differences,
			`"sub-01" (novel) is there twice: keep one`},
		{"none", nil, func(as []*Average) error { _, err := Differences(as, nil); return err },
			"a difference needs averages of two conditions"},
		{"none before", nil, func(as []*Average) error { _, err := Differences(nil, as); return err },
			"a difference needs averages of two conditions"},
	} {
		t.Run(c.what, func(t *testing.T) {
			s := study(t)
			as := append(s.participants(0), s.participants(1)...)
			if c.change != nil {
				c.change(as)
			}
			erptest.WantError(t, c.combine(as), c.want)
		})
	}
}

func TestCombinedInfo(t *testing.T) {
	s := study(t)
	as := s.participants(0)
	as[1].Info.Repaired, as[2].Info.Repaired = []string{"Cz"}, []string{"Oz", "Cz"}
	as[3].Info.Synthetic, as[4].Info.Filters, as[4].Info.Notes = true, "0.1..30Hz", []string{"noisy"}
	g, err := Grand("g", as, false)
	if err != nil {
		t.Fatal(err)
	}
	i := g.Info
	if strings.Join(i.Repaired, " ") != "Cz Oz" || !i.Synthetic || i.Filters != "none; or 0.1..30Hz" ||
		strings.Join(i.Notes, "; ") != "noisy; the parts were filtered differently" ||
		strings.Join(i.Members[2].Repaired, " ") != "Oz Cz" {
		t.Errorf("%+v", i)
	}
}

func TestByCondition(t *testing.T) {
	s := study(t)
	as := slices.Concat(s.participants(1)[:2], s.participants(0)[:1], s.participants(1)[2:])
	as[0].Info.Minus = "odd"
	titles, groups, err := ByCondition(as)
	if err != nil || strings.Join(titles, ", ") != "novel minus odd, novel, known" || len(groups["novel"]) != 4 ||
		len(groups["known"]) != 1 {
		t.Errorf("%q, %v, %v", titles, groups, err)
	}
	as[1].Info.Condition = ""
	_, _, err = ByCondition(as)
	erptest.WantError(t, err, `the condition of "sub-02" () is not known`)
}

// Equal weights are no weights, whatever their size.
func TestEqualWeights(t *testing.T) {
	s := study(t)
	as := s.participants(0)
	for _, a := range as {
		a.Info.Epochs.Kept = 37
	}
	g, err := Grand("g", as, true)
	if err != nil {
		t.Fatal(err)
	}
	wantTables(t, "equal weights", g, s.Grand.Plain)
}

// Of does what its parts do, and says which averages were used.
func TestCombination(t *testing.T) {
	s := study(t)
	all := append(s.participants(1), s.participants(0)...)
	odd := *all[0]
	odd.Info.Condition, odd.Info.Files = "odd", nil
	grands, err := (Combination{Name: "g"}).Of(all)
	if err != nil || len(grands) != 2 || len(grands[1].Parts) != 5 || grands[1].Parts[0] != all[5] {
		t.Fatalf("%+v, %v", grands, err)
	}
	wantTables(t, "grand average", grands[1].Average, s.Grand.Plain)
	subtract := Combination{Name: "g", Minuend: "known", Subtrahend: "novel"}
	group, err := subtract.Of(append(all, &odd))
	if err != nil || len(group) != 1 || len(group[0].Parts) != 10 || group[0].Info.Name != "g" {
		t.Fatalf("%+v, %v", group, err)
	}
	wantTables(t, "difference", group[0].Average, s.Difference)
	one, err := subtract.Of([]*Average{all[0], all[5]})
	if err != nil || len(one) != 1 || one[0].Info.Name != "sub-01" || one[0].Info.Kind != Participant ||
		len(one[0].Parts) != 2 {
		t.Errorf("%+v, %v", one, err)
	}
}

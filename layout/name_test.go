package layout

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"calotte/layout/hostile"
)

func TestParse(t *testing.T) {
	for label, want := range map[string]Name{
		"Fz": "Fz", "FZ": "Fz", " f z ": "Fz", "Fz..": "Fz", "Fc5.": "FC5", "FP1": "Fp1",
		"oi1H": "OI1h", "nfpz": "NFpz", "poo10h": "POO10h", "a1": "A1", "m2": "M2",
		"T3": "T7", "t4": "T8", "T5": "P7", "T6": "P8",
		"NZ": "Nz", "Nasion": "Nz", "NAS": "Nz", "inion": "Iz", "lpa": "LPA",
	} {
		if got, err := Parse(label); err != nil || got != want {
			t.Errorf("Parse(%q) = %q, %v, want %q", label, got, err, want)
		}
	}
}

func TestParseNamesTheNearest(t *testing.T) {
	for _, c := range []struct {
		label string
		want  []Name
	}{
		{"Fzz", []Name{"Fz", "Fpz", "FCz"}},
		{"AF33", []Name{"AF3", "AFp3", "AF3h"}},
		{"OC1", []Name{"O1", "OI1", "FC1"}},
		{"T33", nil},
		{"AFP99", []Name{"AFp9", "AFp9h"}},
		{"FCTT7", []Name{"FTT7"}},
		{"EEG001", nil},
		{"C9", []Name{"C3", "Cz", "C4"}},
		{"", nil},
		{strings.Repeat("F3", 1000), nil},
	} {
		_, err := Parse(c.label)
		unknown, ok := errors.AsType[*UnknownError](err)
		if !ok {
			t.Errorf("Parse(%q): %v, want an unknown name", c.label, err)
			continue
		}
		if n := len(err.Error()); n > 120 {
			t.Errorf("an error of %d bytes", n)
		}
		if !slices.Equal(unknown.Nearest(), c.want) {
			t.Errorf("nearest to %q: %q, want %q", c.label, unknown.Nearest(), c.want)
		}
	}
}

func TestEditDistance(t *testing.T) {
	// kitten and sitting is the textbook's example (Gusfield 1997, from
	// memory).
	for _, c := range []struct {
		a, b string
		want int
	}{{"kitten", "sitting", 3}, {"", "abc", 3}, {"abc", "", 3}, {"fz", "fz", 0}, {"fz", "zf", 2}} {
		if got := editDistance(c.a, c.b); got != c.want {
			t.Errorf("%q to %q: %d, want %d", c.a, c.b, got, c.want)
		}
	}
}

func TestNamesAreDistinctWhenFolded(t *testing.T) {
	seen := map[string]Name{}
	for _, n := range names().ordered {
		if other, ok := seen[Fold(string(n))]; ok {
			t.Errorf("%q and %q fold to the same", n, other)
		}
		seen[Fold(string(n))] = n
	}
	for _, a := range aliases {
		if n, ok := seen[a.folded]; ok {
			t.Errorf("alias %q hides the site %q", a.folded, n)
		}
	}
}

func TestSets(t *testing.T) {
	for _, c := range []struct {
		name string
		set  []Name
		size int
	}{{"10-20", Set1020(), 19}, {"10-10", Set1010(), 89}, {"10-5", Set1005(), 345}} {
		unique := slices.Compact(slices.Sorted(slices.Values(c.set)))
		if len(c.set) != c.size || len(unique) != c.size {
			t.Errorf("%s: %d names, %d different, want %d", c.name, len(c.set), len(unique), c.size)
		}
		for _, n := range c.set {
			if n.Kind() != Scalp {
				t.Errorf("%s: %q is a %v", c.name, n, n.Kind())
			}
			if !slices.Contains(c.set, n.Mirror()) {
				t.Errorf("%s has %q without its mirror %q", c.name, n, n.Mirror())
			}
		}
	}
	for _, n := range Set1020() {
		if !slices.Contains(Set1010(), n) {
			t.Errorf("10-10 lacks %q", n)
		}
	}
	for _, n := range Set1010() {
		if !slices.Contains(Set1005(), n) {
			t.Errorf("10-5 lacks %q", n)
		}
	}
}

func TestKinds(t *testing.T) {
	for n, want := range map[Name]Kind{
		"Cz": Scalp, "Nz": Scalp, "Iz": Scalp, "T9": Scalp, "A1": Ear, "M2": Mastoid, "LPA": Landmark,
		"X": Unknown,
	} {
		if got := n.Kind(); got != want {
			t.Errorf("%q is a %v, want %v", n, got, want)
		}
	}
}

func anyName() *rapid.Generator[Name] { return rapid.SampledFrom(names().ordered) }

func TestMirror(t *testing.T) {
	for n, want := range map[Name]Name{
		"F3": "F4", "T9": "T10", "FTT10h": "FTT9h", "Fz": "Fz", "Cz": "Cz", "Iz": "Iz",
		"A1": "A2", "M2": "M1", "LPA": "RPA", "Fp1h": "Fp2h", "not a name": "not a name",
	} {
		if got := n.Mirror(); got != want {
			t.Errorf("mirror of %q is %q, want %q", n, got, want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.OneOf(anyName(),
			rapid.Custom(func(t *rapid.T) Name { return Name(rapid.String().Draw(t, "text")) })).Draw(t,
			"name")
		if got := n.Mirror().Mirror(); got != n {
			t.Errorf("mirror of the mirror of %q is %q", n, got)
		}
	})
}

func TestNamesOnTheMidlineMirrorThemselves(t *testing.T) {
	for _, n := range names().ordered {
		if onMidline := strings.HasSuffix(string(n), "z"); onMidline != (n.Mirror() == n) {
			t.Errorf("%q mirrors to %q", n, n.Mirror())
		}
	}
}

func TestPairs(t *testing.T) {
	got := Pairs(strings.Fields("P8 Fz F3 O1 p7 F4 A2 A1 C3 LPA RPA EEG001 FCC3h T3 FCC4h T8"))
	want := []Pair{{2, 5}, {4, 0}, {7, 6}, {9, 10}, {12, 14}, {13, 15}}
	if !slices.Equal(got, want) {
		t.Errorf("pairs %v, want %v", got, want)
	}
	if got := Pairs([]string{"P7", "P8", "P7"}); !slices.Equal(got, []Pair{{2, 1}}) {
		t.Errorf("pairs of a site that is there twice: %v, want one", got)
	}
	var all []string
	for _, n := range Set1005() {
		all = append(all, string(n))
	}
	if got := len(Pairs(all)); got != 162 {
		t.Errorf("%d pairs in the 10-5 system, want 162", got)
	}
}

func TestSide(t *testing.T) {
	for n, want := range map[Name]Side{
		"Fz": Midline, "Nz": Midline, "Iz": Midline, "F3": LeftSide, "F10": RightSide, "nonsense": Midline,
		"LPA": LeftSide, "RPA": RightSide, "T9": LeftSide, "AFF5h": LeftSide, "I2": RightSide, "A1": LeftSide,
	} {
		if got := n.Side(); got != want {
			t.Errorf("%s is on the side %q, want %q", n, got, want)
		}
	}
}

func TestParseKeepsNames(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := anyName().Draw(t, "name")
		if got, err := Parse(n.String()); err != nil || got != n {
			t.Errorf("Parse(%q) = %q, %v", n, got, err)
		}
	})
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"Fz", "t3 ", "PO10h..", "Fzz", "\u0130z", "\xff", "A 1"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, label string) {
		defer hostile.Budget(t, len(label))()
		n, err := Parse(label)
		if err != nil {
			if unknown, ok := errors.AsType[*UnknownError](err); !ok || len(unknown.Nearest()) > 3 {
				t.Errorf("%q: %v", label, err)
			}
			return
		}
		if n.Kind() == Unknown {
			t.Errorf("%q: %q is not a name", label, n)
		}
		if again, err := Parse(n.String()); err != nil || again != n {
			t.Errorf("%q: %q parses to %q, %v", label, n, again, err)
		}
	})
}

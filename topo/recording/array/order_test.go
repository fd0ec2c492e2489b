package array

import (
	"slices"
	"strings"
	"testing"

	"calotte/topo/recording"
)

func TestParseOrder(t *testing.T) {
	for text, want := range map[string]string{
		"sites,samples": "", "samples, sites": "", "epochs,samples,sites": "",
		"": "expected the axes", "sites": "expected", "sites,epochs": "expected", "sites,sites": "expected",
		"epochs,sites,samples,samples": "expected", "time,sites": "expected",
	} {
		o, err := ParseOrder(text)
		if (want == "") != (err == nil) || err != nil && !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, %v", text, o, err)
		}
		if err == nil && o.String() != strings.ReplaceAll(text, " ", "") {
			t.Errorf("%q became %v", text, o)
		}
	}
}

// Axes are told apart by the number of names, or have to be given.
func TestOrder(t *testing.T) {
	const sitesFirst, sitesLast, both = "sites,samples", "samples,sites", "say the order of the axes"
	for _, c := range []struct {
		kind  recording.Kind
		shape []int
		asked Order
		names int
		want  string
	}{
		{recording.NumPy, []int{6, 800}, nil, 6, sitesFirst},
		{recording.NumPy, []int{800, 6}, nil, 6, sitesLast},
		{recording.Level5, []int{800, 6}, nil, 6, sitesLast},
		{recording.NumPy, []int{6, 6}, nil, 6, both},
		{recording.NumPy, []int{6, 6}, Order{Samples, Sites}, 6, sitesLast},
		{recording.NumPy, []int{7, 800}, nil, 6,
			"no axis of the array (7 × 800) is as long as there are names of sites, which is 6"},
		{recording.NumPy, []int{6, 800}, Order{Samples, Sites}, 6, "has 800 sites and there are 6 names"},
		{recording.Text, []int{6, 800}, nil, 800, sitesLast},
		{recording.Text, []int{6, 800}, nil, 6, "has 800 sites and there are 6 names"},
		{recording.NumPy, []int{3, 6, 16}, nil, 6, "epochs,sites,samples"},
		{recording.NumPy, []int{6, 16, 3}, nil, 6, "taken as epochs,sites,samples has 16 sites"},
		{recording.Level5, []int{6, 16, 3}, nil, 6, "sites,samples,epochs"},
		{recording.Level5, []int{3, 6, 16}, Order{Epochs, Sites, Samples}, 6, "epochs,sites,samples"},
		{recording.NumPy, []int{6, 800}, Order{Epochs, Sites, Samples}, 6, "2 axes (6 × 800) and the order 3"},
		{recording.NumPy, []int{6}, nil, 6, "an array of 1 axes (6)"},
		{recording.NumPy, []int{1, 2, 3, 4}, nil, 6, "an array of 4 axes"},
	} {
		a := &Array{Kind: c.kind, Shape: c.shape}
		o, err := a.order(c.asked, c.names)
		got := o.String()
		if err != nil {
			got = err.Error()
		}
		if !strings.Contains(got, c.want) {
			t.Errorf("%v of %v, asked for %v: %s, want %s", c.shape, c.kind, c.asked, got, c.want)
		}
	}
}

// Cut epochs come out the same from each file and each order.
func TestCut(t *testing.T) {
	three, err := open(read(t, "three.npy"), "")
	if err != nil {
		t.Fatal(err)
	}
	all := func(a *Array, d Description) (flat []float64) {
		t.Helper()
		c, err := a.Cut(d)
		if err != nil {
			t.Fatal(err)
		}
		if c.Epochs != 3 || c.Sites != 6 || c.Samples != 16 {
			t.Fatalf("%d × %d × %d", c.Epochs, c.Sites, c.Samples)
		}
		for epoch, err := range c.All() {
			if err != nil {
				t.Fatal(err)
			}
			for _, row := range epoch {
				flat = append(flat, row...)
			}
		}
		return flat
	}
	want := all(three, Description{Unit: "uV", Sites: sites})
	if want[0] != -30*0.375 || len(want) != 288 {
		t.Fatalf("%d values that begin with %g", len(want), want[0])
	}
	for file, unit := range map[string]string{"double.npy": "uV", "fortran.npy": "uV", "epochs.mat": "uV"} {
		a, err := open(read(t, file), "")
		if err != nil {
			t.Fatal(err)
		}
		if got := all(a, Description{Unit: unit, Sites: sites}); !slices.Equal(got, want) {
			t.Errorf("%s: other values", file)
		}
	}
	for i, x := range all(three, Description{Unit: "mV", Sites: sites}) {
		if x != 1000*want[i] {
			t.Fatalf("value %d is %g µV, want %g", i, x, 1000*want[i])
		}
	}
	if _, err := three.Recording(Description{Rate: 100, Unit: "uV", Sites: sites}); err == nil ||
		!strings.Contains(err.Error(), "is cut epochs") {
		t.Error(err)
	}
}

func TestDescription(t *testing.T) {
	whole, err := open(read(t, "whole.npy"), "")
	if err != nil {
		t.Fatal(err)
	}
	for want, d := range map[string]Description{
		"does not name its sites":               {Rate: 100, Unit: "uV"},
		`two sites are named "Fz"`:              {Rate: 100, Unit: "uV", Sites: []string{"Fz", "Fz"}},
		"is not a voltage":                      {Rate: 100, Unit: "T", Sites: sites},
		"a rate of 0 Hz: expected more than 0":  {Unit: "uV", Sites: sites},
		"which is 1: name each site":            {Rate: 100, Unit: "uV", Sites: []string{"Fz"}},
		"expected a recording of a nanosecond ": {Rate: 1e-9, Unit: "uV", Sites: sites},
	} {
		if _, err := whole.Recording(d); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
	if _, err := whole.Cut(Description{Unit: "uV", Sites: sites}); err == nil {
		t.Error("two axes are no epochs")
	}
}

package chart_test

import (
	"fmt"
	"io"
	"log"
	"math"

	"gonum.org/v1/plot/vg"

	"calotte/render/canvas"
	"calotte/render/chart"
	"calotte/topo/filter"
	"calotte/topo/provenance"
)

// draw stands for writing a figure to a file of that name.
var draw = func(f canvas.Figure, name string) error {
	return canvas.Write(io.Discard, f, canvas.PNG, provenance.Record{Program: "example"})
}

// Three conditions at two sites, with bands and declared windows.
func ExampleTraces_Compose() {
	traces := chart.Traces{
		Curves: []string{
			"flags learnt in week 2 minus week 1",
			"flags learnt in week 3 minus week 2",
			"flags learnt in week 4 minus week 3",
		},
		Panels:    []chart.TracePanel{{Title: "site 1"}, {Title: "site 2"}},
		Windows:   []chart.TraceWindow{{Name: "p170", From: .15, To: .19}, {Name: "late", From: .4, To: .5}},
		Band:      "one standard error of the mean over people",
		Baseline:  &[2]float64{-.1, 0},
		Reference: "average of 64 sites",
		Synthetic: true,
	}
	for k := range 176 {
		traces.Times = append(traces.Times, -.1+.004*float64(k))
	}
	for p := range traces.Panels {
		for c := range traces.Curves {
			var curve chart.Trace
			for _, s := range traces.Times {
				curve.Values = append(curve.Values,
					(3+float64(c))*math.Exp(-math.Abs(s-.2)/.1)*math.Cos(20*s+float64(p)))
				curve.Band = append(curve.Band, .5)
			}
			traces.Panels[p].Curves = append(traces.Panels[p].Curves, curve)
		}
	}
	plate, err := traces.Compose()
	if err != nil {
		log.Fatal(err)
	}
	if err := draw(plate, "traces.png"); err != nil {
		log.Fatal(err)
	}
	fmt.Println(plate.Title())
	// Output: Waveforms
}

// Forty epochs of one person, a row each, with responses and the largest swing.
func ExampleEpochPicture_Compose() {
	epochs := chart.EpochPicture{Name: "sub-01, known", Site: "right (mean of P8,PO8)", Synthetic: true}
	for k := range 120 {
		epochs.Times = append(epochs.Times, -.1+.005*float64(k))
	}
	for i := range 40 {
		var row []float64 // µV
		for _, s := range epochs.Times {
			row = append(row, 8*math.Sin(9*s+float64(i%7))-6*math.Exp(-math.Abs(s-.17)/.03))
		}
		epochs.Epochs = append(epochs.Epochs, row)
		epochs.Numbers = append(epochs.Numbers, 2*i+1)
		epochs.Response = append(epochs.Response, .3+.1*math.Sin(float64(i)))
		epochs.Swings = append(epochs.Swings, 40+30*math.Abs(math.Sin(float64(i))))
		epochs.SwingsAt = append(epochs.SwingsAt, "Fp1")
	}
	plate, err := epochs.Compose()
	if err != nil {
		log.Fatal(err)
	}
	if err := draw(plate, "epochs.png"); err != nil {
		log.Fatal(err)
	}
	fmt.Printf("colours to ±%g µV\n", plate.Limit)
	// Output: colours to ±10 µV
}

// What a filter does to frequencies and to a step.
func ExampleResponse_Compose() {
	f, err := filter.New(filter.Design{HighPass: 1, LowPass: 30}, 250)
	if err != nil {
		log.Fatal(err)
	}
	response := chart.Response{Filter: f, Width: 114 * vg.Millimeter}
	plate, err := response.Compose()
	if err != nil {
		log.Fatal(err)
	}
	if err := draw(plate, "response.png"); err != nil {
		log.Fatal(err)
	}
	fmt.Println(plate.Title())
	// Output: Response of a filter
}

// A statistic at each site and sample, pale outside of what is said to be more
// than chance.
func ExampleSiteTime_Compose() {
	picture := chart.SiteTime{
		Title: "t of known minus novel", Unit: "t, 11 degrees of freedom", Caption: "Synthetic data.",
		Groups: []chart.Group{{Title: "left", Sites: 12}, {Title: "middle", Sites: 6}, {Title: "right", Sites: 12}},
	}
	for k := range 60 {
		picture.Times = append(picture.Times, -.1+.005*float64(k))
	}
	for i := range 30 {
		picture.Sites = append(picture.Sites, fmt.Sprintf("S%d", i+1))
		var row []float64
		var strong []bool
		for k := range picture.Times {
			row = append(row, 5*math.Sin(float64(k)/8+float64(i)/3))
			strong = append(strong, i < 15 && k > 30)
		}
		picture.Values, picture.Strong = append(picture.Values, row), append(picture.Strong, strong)
	}
	plate, err := picture.Compose()
	if err != nil {
		log.Fatal(err)
	}
	if err := draw(plate, "sitetime.png"); err != nil {
		log.Fatal(err)
	}
	fmt.Printf("colours to ±%g\n", plate.Limit())
	// Output: colours to ±5
}

// Numbers with their intervals; a pair of which nothing is known has none.
func ExampleIntervals_Compose() {
	intervals := chart.Intervals{
		Title: "Right minus left, 170 ms", Unit: "right minus left, µV",
		Ends:    [2]string{"left more positive", "right more positive"},
		Caption: "Whiskers: 95 % intervals of the mean by t, of 12 people; thin: all at once.",
		Lines: []chart.Interval{
			{Name: "P7–P8", Value: -1.4, Low: -2.6, High: -.1, Joint: 1.6, Note: "p* 0.056"},
			{Name: "PO7–PO8", Value: .4, Low: -.8, High: 1.9, Open: true},
			{Name: "O1–O2", Value: -.2, Low: math.NaN(), High: math.NaN()},
		},
	}
	plate, err := intervals.Compose()
	if err != nil {
		log.Fatal(err)
	}
	if err := draw(plate, "intervals.png"); err != nil {
		log.Fatal(err)
	}
	width, height := plate.Size()
	fmt.Printf("%.0f × %.0f mm\n", width/vg.Millimeter, height/vg.Millimeter)
	// Output: 180 × 34 mm
}

// How often a planned study finds an effect, over people and epochs.
func ExampleShares_Compose() {
	power := chart.Shares{
		Title: "How often 1 µV is found at P8", X: "people", At: []float64{8, 16, 24, 32}, Level: .8,
		Curves: []chart.Share{
			{Name: "30 epochs a condition", Value: []float64{.17, .4, .59, .71}, Low: []float64{.15, .37, .56, .68},
				High: []float64{.2, .43, .62, .73}},
			{Name: "60 epochs a condition", Value: []float64{.33, .64, .82, .9}, Low: []float64{.3, .61, .79, .88},
				High: []float64{.36, .67, .84, .92}},
		},
		Caption: "Synthetic. Whiskers: 95 % intervals (Wilson). Dashed: 80 %.",
	}
	plate, err := power.Compose()
	if err != nil {
		log.Fatal(err)
	}
	if err := draw(plate, "shares.png"); err != nil {
		log.Fatal(err)
	}
	fmt.Println(plate.Title())
	// Output: How often 1 µV is found at P8
}

// A difference in all ways that some choices allow.
func ExampleWays_Compose() {
	ways := chart.Ways{
		Title: "known minus novel in 24 ways", Unit: "known minus novel, µV",
		Choices: []chart.WayChoice{{Name: "reference", Options: []string{"average", "recorded"}},
			{Name: "window", Options: []string{"150..190ms", "160..180ms", "150..200ms"}},
			{Name: "of", Options: []string{"P8", "PO8", "TP8", "P6"}}},
		Caption: "Synthetic. Whiskers: 95 % intervals by t.",
	}
	for i := range 24 {
		value := -2.4 + .1*float64(i)
		ways.Ways = append(ways.Ways, chart.Way{Value: value, Low: value - .9, High: value + .9,
			Options: []int{i / 7 % 2, i % 3, (i * 5) % 4}, Strong: i < 15, Marked: i == 6})
	}
	plate, err := ways.Compose()
	if err != nil {
		log.Fatal(err)
	}
	if err := draw(plate, "ways.png"); err != nil {
		log.Fatal(err)
	}
	fmt.Println(plate.Title())
	// Output: known minus novel in 24 ways
}

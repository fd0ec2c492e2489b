package layout_test

import (
	"fmt"

	"calotte/layout"
	"calotte/layout/head"
)

func ExamplePlace() {
	measures := head.Head{Circumference: 560, NasionInion: 360, EarEar: 345}
	model, err := measures.Model()
	if err != nil {
		fmt.Println(err)
		return
	}
	placements, err := layout.Place(model, []layout.Name{"Fpz", "Fz", "F7", "C3"})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, p := range placements {
		fmt.Printf("%-3s on %-10s %5.1f mm from %s\n", p.Name, p.Arc, p.Distance, p.From)
	}
	// Output:
	// Fpz on Nz-Cz-Iz    36.0 mm from Nz
	// Fz  on Nz-Cz-Iz   108.0 mm from Nz
	// F7  on Fpz-T7-Oz   84.0 mm from Fpz
	// C3  on LPA-Cz-RPA 103.5 mm from LPA
}

func ExampleParse() {
	for _, label := range []string{"FP1", "Fc5.", "T3", "Fzz"} {
		name, err := layout.Parse(label)
		fmt.Println(name, err)
	}
	// Output:
	// Fp1 <nil>
	// FC5 <nil>
	// T7 <nil>
	//  unknown site "Fzz": nearest known: Fz, Fpz, FCz
}

func ExampleParseLabel() {
	for _, text := range []string{"EEG Cz", "Fp1-F7", "EOG left", "T3.."} {
		l, err := layout.ParseLabel(text)
		if err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Printf("%s: %v %s, site %q shown as %q, reference %q\n", text, l.Kind, l.Type, l.Site, l.SiteText,
			l.Reference)
	}
	// Output:
	// EEG Cz: site EEG, site "Cz" shown as "Cz", reference ""
	// Fp1-F7: derived EEG, site "Fp1" shown as "Fp1", reference "F7"
	// EOG left: signal EOG, site "" shown as "", reference ""
	// T3..: site EEG, site "T7" shown as "T3", reference ""
}

func ExampleName_Mirror() {
	fmt.Println(layout.Name("F3").Mirror(), layout.Name("T10").Mirror(), layout.Name("Fz").Mirror())
	// Output: F4 T9 Fz
}

func ExamplePairs() {
	fmt.Println(layout.Pairs([]string{"P8", "Pz", "T5", "O1", "F3", "F4"}))
	// Output: [{2 0} {4 5}]
}

package layout_test

import (
	"fmt"
	"os"

	"calotte/layout"
)

func ExamplePlace() {
	head := layout.Head{Circumference: 560, NasionInion: 360, EarEar: 345}
	model, err := head.Model()
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
		fmt.Printf("%s: %v %s, site %q shown as %q, reference %q\n", text, l.Kind, l.Type, l.Site, l.SiteText, l.Reference)
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

func ExampleHead_Check() {
	_, err := layout.Head{Circumference: 56}.Check()
	fmt.Println(err)
	warnings, _ := layout.Head{Circumference: 560, NasionInion: 340, EarEar: 365}.Check()
	fmt.Println(warnings[0])
	// Output:
	// circumference 56 mm is not a head's: is it 56 cm?
	// the head is wider than long (breadth/length 1.15): measure again to be sure
}

func ExampleHead_Encode() {
	head := layout.Head{Wearer: "P07", Circumference: 560, NasionInion: 365, EarEar: 340}
	if err := head.Encode(os.Stdout); err != nil {
		fmt.Println(err)
	}
	// Output:
	// {
	//   "kind": "calotte head",
	//   "version": 1,
	//   "wearer": "P07",
	//   "circumference_mm": 560,
	//   "nasion_inion_mm": 365,
	//   "ear_ear_mm": 340
	// }
}

func ExampleHead_Model() {
	model, err := layout.Head{Circumference: 560, NasionInion: 365, EarEar: 340}.Model()
	fmt.Printf("%.1f %.1f %.1f mm, %v\n", model.Right, model.Front, model.Up, err)
	// Output: 82.6 95.4 90.5 mm, <nil>
}

func ExampleEllipsoid_Section() {
	head := layout.Sphere(90)
	l := head.Landmarks()
	arc, err := head.Section(l.Nasion, l.Vertex, l.Inion)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f mm, a tenth of it at %.1f\n", arc.Length(), arc.At(0.1))
	// Output: 353.4 mm, a tenth of it at {0.0 90.0 0.0}
}

func ExampleWriteElectrodes() {
	placements, err := layout.Place(layout.Sphere(90), []layout.Name{"Fz", "Cz"})
	if err != nil {
		fmt.Println(err)
		return
	}
	if err := layout.WriteElectrodes(os.Stdout, layout.Sites(placements)); err != nil {
		fmt.Println(err)
	}
	// Output:
	// name	x	y	z
	// Fz	0.0000	63.6396	63.6396
	// Cz	0.0000	0.0000	90.0000
}

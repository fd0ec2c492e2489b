package guide

// A Text is all that a guide says, in one language: the form of text.yaml. A
// lab's own comes from ReadText.
type Text struct {
	Language string `yaml:"language"`
	Common   struct {
		Wearer    string `yaml:"wearer"`
		Date      string `yaml:"date"`
		Initials  string `yaml:"initials"`
		Page      string `yaml:"page"`
		Continued string `yaml:"continued"`
		Sides     string `yaml:"sides"`
		Decide    string `yaml:"decide"`
		Left      string `yaml:"left"`
		Right     string `yaml:"right"`
		Nose      string `yaml:"nose"`
		From      string `yaml:"from"`
		Value     string `yaml:"value"`
	} `yaml:"common"`
	Caution struct {
		Title    string    `yaml:"title"`
		Heading  string    `yaml:"heading"`
		Short    string    `yaml:"short"`
		Ask      string    `yaml:"ask"`
		Asked    []string  `yaml:"asked"`
		Stop     string    `yaml:"stop"`
		Full     string    `yaml:"full"`
		Rules    []Caution `yaml:"rules"`
		Record   string    `yaml:"record"`
		Recorded struct {
			InionUncertain string `yaml:"inion_uncertain"`
			Scar           string `yaml:"scar"`
			Shunt          string `yaml:"shunt"`
			Plate          string `yaml:"plate"`
			SkullDefect    string `yaml:"skull_defect"`
		} `yaml:"recorded"`
		Where   string `yaml:"where"`
		Midline string `yaml:"midline"`
		Last    string `yaml:"last"`
	} `yaml:"caution"`
	Sheet1 struct {
		Title          string `yaml:"title"`
		Circumference  string `yaml:"circumference"`
		NasionInion    string `yaml:"nasion_inion"`
		EarEar         string `yaml:"ear_ear"`
		Found          string `yaml:"found"`
		Readings       string `yaml:"readings"`
		FromAround     string `yaml:"from_around"`
		AroundOnly     string `yaml:"around_only"`
		Halves         string `yaml:"halves"`
		Cap            string `yaml:"cap"`
		CapLab         string `yaml:"cap_lab"`
		CapCommon      string `yaml:"cap_common"`
		CapNone        string `yaml:"cap_none"`
		Landmarks      string `yaml:"landmarks"`
		LandmarkNasion string `yaml:"landmark_nasion"`
		LandmarkInion  string `yaml:"landmark_inion"`
		LandmarkLeft   string `yaml:"landmark_left"`
		LandmarkRight  string `yaml:"landmark_right"`
		Vertex         string `yaml:"vertex"`
		VertexUnequal  string `yaml:"vertex_unequal"`
		VertexMidline  string `yaml:"vertex_midline"`
		VertexLeft     string `yaml:"vertex_left"`
		VertexRight    string `yaml:"vertex_right"`
		Midline        string `yaml:"midline"`
		Coronal        string `yaml:"coronal"`
		Ring           string `yaml:"ring"`
		RingUnequal    string `yaml:"ring_unequal"`
		Crossing       string `yaml:"crossing"`
		Helpers        string `yaml:"helpers"`
		Lying          string `yaml:"lying"`
		Headrest       string `yaml:"headrest"`
	} `yaml:"sheet_1"`
	Sheet1b struct {
		Title    string `yaml:"title"`
		Intro    string `yaml:"intro"`
		Measured string `yaml:"measured"`
		Checks   struct {
			Front      Rule `yaml:"front"`
			Back       Rule `yaml:"back"`
			Sides      Rule `yaml:"sides"`
			TwistFront Rule `yaml:"twist_front"`
			TwistBack  Rule `yaml:"twist_back"`
			Vertex     Rule `yaml:"vertex"`
		} `yaml:"checks"`
		VertexFront string `yaml:"vertex_front"`
		VertexSide  string `yaml:"vertex_side"`
		VertexLeft  string `yaml:"vertex_left"`
		VertexRight string `yaml:"vertex_right"`
		Drawing     string `yaml:"drawing"`
		Strap       string `yaml:"strap"`
	} `yaml:"sheet_1b"`
	Sheet2 struct {
		Title    string `yaml:"title"`
		Intro    string `yaml:"intro"`
		Target   string `yaml:"target"`
		Measured string `yaml:"measured"`
		Allowed  string `yaml:"allowed"`
		AtMost   string `yaml:"at_most"`
		IfWrong  string `yaml:"if_wrong"`
		Rules    struct {
			Midline      Rule `yaml:"midline"`
			Ring         Rule `yaml:"ring"`
			MeetingLeft  Rule `yaml:"meeting_left"`
			MeetingRight Rule `yaml:"meeting_right"`
		} `yaml:"rules"`
		Pairs      string `yaml:"pairs"`
		PairsFix   string `yaml:"pairs_fix"`
		Plugs      string `yaml:"plugs"`
		Tap        string `yaml:"tap"`
		TapRight   string `yaml:"tap_right"`
		TapWrong   string `yaml:"tap_wrong"`
		TapNothing string `yaml:"tap_nothing"`
	} `yaml:"sheet_2"`
	Sheet3 struct {
		Title      string `yaml:"title"`
		Behind     string `yaml:"behind"`
		Front      string `yaml:"front"`
		Order      string `yaml:"order"`
		List       string `yaml:"list"`
		Tick       string `yaml:"tick"`
		Impedance  string `yaml:"impedance"`
		NotReached string `yaml:"not_reached"`
		EarPoint   string `yaml:"ear_point"`
		Lying      string `yaml:"lying"`
		Headrest   string `yaml:"headrest"`
		Auxiliary  struct {
			Ground          string `yaml:"ground"`
			Reference       string `yaml:"reference"`
			MastoidLeft     string `yaml:"mastoid_left"`
			MastoidRight    string `yaml:"mastoid_right"`
			HorizontalLeft  string `yaml:"horizontal_left"`
			HorizontalRight string `yaml:"horizontal_right"`
			VerticalAbove   string `yaml:"vertical_above"`
			VerticalBelow   string `yaml:"vertical_below"`
		} `yaml:"auxiliary"`
		AuxiliaryHeading string `yaml:"auxiliary_heading"`
	} `yaml:"sheet_3"`
	Strips struct {
		Straight  string `yaml:"straight"`
		Curved    string `yaml:"curved"`
		Use       string `yaml:"use"`
		Bar       string `yaml:"bar"`
		Rule      string `yaml:"rule"`
		Corrected string `yaml:"corrected"`
		Overlap   string `yaml:"overlap"`
		Join      string `yaml:"join"`
		Piece     string `yaml:"piece"`
	} `yaml:"strips"`
	Blank struct {
		Title          string   `yaml:"title"`
		MeasureHeading string   `yaml:"measure_heading"`
		Nasion         Landmark `yaml:"nasion"`
		Inion          Landmark `yaml:"inion"`
		Ear            Landmark `yaml:"ear"`
		Vertex         Landmark `yaml:"vertex"`
		Around         Landmark `yaml:"around"`
		First          string   `yaml:"first"`
		Second         string   `yaml:"second"`
		Half           string   `yaml:"half"`
		Tenth          string   `yaml:"tenth"`
		NasionInion    string   `yaml:"nasion_inion"`
		EarEar         string   `yaml:"ear_ear"`
		Circumference  string   `yaml:"circumference"`
		Widest         string   `yaml:"widest"`
		Apart          string   `yaml:"apart"`
		LeftEar        string   `yaml:"left_ear"`
		RightEar       string   `yaml:"right_ear"`
		LeftRing       string   `yaml:"left_ring"`
		RightRing      string   `yaml:"right_ring"`
		SideView       string   `yaml:"side_view"`
		BackView       string   `yaml:"back_view"`
		FanTitle       string   `yaml:"fan_title"`
		FanArc         string   `yaml:"fan_arc"`
		FanRing        string   `yaml:"fan_ring"`
		FanWhole       string   `yaml:"fan_whole"`
		FanQuarter     string   `yaml:"fan_quarter"`
		LadderTitle    string   `yaml:"ladder_title"`
		LadderArcs     string   `yaml:"ladder_arcs"`
		LadderRing     string   `yaml:"ladder_ring"`
		LadderLength   string   `yaml:"ladder_length"`
		Percent        string   `yaml:"percent"`
		ErrorTitle     string   `yaml:"error_title"`
		ErrorText      string   `yaml:"error_text"`
		ErrorUnit      string   `yaml:"error_unit"`
		ErrorRule      string   `yaml:"error_rule"`
	} `yaml:"blank"`
}

// A Rule is a check: what is measured, and what to do when it is off.
type Rule struct {
	Name string `yaml:"name"`
	Fix  string `yaml:"fix"`
}

// A Landmark is a point that is felt, and how to find it.
type Landmark struct {
	Name string `yaml:"name"`
	How  string `yaml:"how"`
}

// A Caution is one group of the cautions.
type Caution struct {
	Head string `yaml:"head"`
	Text string `yaml:"text"`
}

package main

import "testing"

func TestTracesMistakes(t *testing.T) {
	plain := table("own.tsv", averageTable(tableHeader, wave))
	for _, m := range []mistake{
		{"no output", plain, "traces FILE --sites Cz", usage, []string{"--output", "-o traces.pdf"}},
		{"unknown ending", plain, "traces FILE -o OUT.doc", usage, []string{"doc", "svg"}},
		{"a site that is not there", plain, "traces FILE --sites F7 -o OUT.png", failed,
			[]string{"no F7", "Cz"}},
		{"a pool of sites that are not there", plain, "traces FILE --pool left=F7,PO7 -o OUT.png", failed,
			[]string{"pool left", "F7"}},
		{"a pool without a name", plain, "traces FILE --pool P7,PO7 -o OUT.png", usage,
			[]string{"NAME=SITE,SITE"}},
		{"a window outside", plain, "traces FILE --sites Cz --window 300..900ms -o OUT.png", failed,
			[]string{"--window", "reaches from"}},
		{"a window backwards", plain, "traces FILE --sites Cz --window late=300..200ms -o OUT.png", usage,
			[]string{"300..200ms"}},
		{"a stretch outside", plain, "traces FILE --during 2..3s -o OUT.png", failed,
			[]string{"--during", "the data reach"}},
		{"a band without errors", plain, "traces FILE --sites Cz --band sem -o OUT.png", failed,
			[]string{"no standard errors", "--band none"}},
		{"an unknown band", plain, "traces FILE --sites Cz --band 90% -o OUT.png", usage,
			[]string{"95%, sem or none"}},
		{"a limit of zero", plain, "traces FILE --limit 0uV -o OUT.png", usage, []string{"more than 0"}},
		{"a narrow figure", plain, "traces FILE --width 40mm -o OUT.png", usage,
			[]string{"--width 40mm", "80mm"}},
		{"a filter for averages", plain, "traces FILE --highpass 1Hz -o OUT.png", usage,
			[]string{"--highpass", "calotte average"}},
		{"a response without a filter", plain, "traces --response --rate 500Hz -o OUT.png", usage,
			[]string{"--highpass"}},
		{"a response without a rate", plain, "traces --response --highpass 1Hz -o OUT.png", usage,
			[]string{"--rate 500Hz"}},
		{"a response of an average", plain, "traces FILE --response --highpass 1Hz --rate 500Hz -o OUT.png",
			usage,
			[]string{"no input"}},
		{"epochs of an average", plain, "traces FILE --epochs --sites Cz -o OUT.png", failed,
			[]string{"own.tsv"}},
		{"epochs of all sites", plain, "traces FILE --epochs -o OUT.png", usage, []string{"one site or pool"}},
		{"output over the input", plain, "traces FILE -o FILE --force", usage, []string{".tsv"}},
	} {
		t.Run(m.name, m.check)
	}
}

func TestContentsMistakes(t *testing.T) {
	good := edf(sessionFile{events: true})
	for _, m := range []mistake{
		{"check of a table", table("own.tsv", averageTable(tableHeader, wave)), "contents --check FILE", usage,
			[]string{"a recording"}},
		{"a limit without a check", good, "contents FILE --reject 100uV", usage,
			[]string{"--reject", "--check"}},
		{"a head without a check", good, "contents FILE --circumference 560mm", usage,
			[]string{"--circumference", "--check"}},
		{"a check of epochs that are too short", good, "contents --check FILE --epoch 0..1ms", failed,
			[]string{"rec.edf: epoch: "}},
		{"events that are not there", good, "contents --check FILE --of pause", failed,
			[]string{`no event "pause"`, "go ("}},
		{"no trigger channel", good, "contents FILE --codes Status", failed,
			[]string{"--codes", `no channel "Status"`}},
		{"a mask of nothing", good, "contents FILE --codes Status&0", usage, []string{"0xff"}},
		{"a level without a unit", good, "contents FILE --onsets Photo>x", usage, []string{"--onsets"}},
		{"a level of nothing", good, "contents FILE --onsets Photo", usage, []string{"CHANNEL>LEVEL"}},
		{"a participant of a file", good, "contents FILE --participant 01", usage, []string{"BIDS folder"}},
		{"a folder that is no data set", table("own.tsv", averageTable(tableHeader, wave)), "contents DIR",
			failed,
			[]string{"no folder sub-"}},
		{"events of no table", good, "contents FILE --event-label x", usage, []string{"--events"}},
		{"a table of events without onsets", good, "contents FILE --events FILE", failed, []string{"rec.edf"}},
	} {
		t.Run(m.name, m.check)
	}
}

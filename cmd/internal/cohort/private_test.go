package cohort

import (
	"path/filepath"
	"testing"
)

func TestStrip(t *testing.T) {
	f := Folders{}
	f.add("results", "/home/jo do/study/results")
	f.add("recordings", "/data/clinic of x/bids", "priv/data", "data")
	f.add("here", ".", "..", "/")
	for text, want := range map[string]string{
		"/data/clinic of x/bids/sub-01/eeg/sub-01_eeg.edf: no events":             "sub-01_eeg.edf: no events",
		"open /data/clinic of x/bids/sub-01/eeg: permission denied":               "open eeg: permission denied",
		"/data/clinic of x/bids: no folder sub-…":                                 "recordings: no folder sub-…",
		"/data/clinic of x/bidsother/x.edf and more":                              "x.edf and more",
		"/home/jo do/study/results/sub-01 leads out of /home/jo do/study/results": "sub-01 leads out of results",
		`reading "/home/jo do/study/results/my maps.svg", then`:                   `reading "my maps.svg", then`,
		"a.edf, (priv/data/sub-01/b.edf) and priv/data: two": "a.edf, (b.edf) and " +
			"recordings: two",
		"data/sub-01/eeg/b.edf: the data are too short": "b.edf: the data are too short",
		"../other/x.tsv, ./y.tsv, ~/z.tsv and ~jo":      "x.tsv, y.tsv, z.tsv and ~jo",
		"--head=/etc/lab/head.json: there is no file /etc/lab/head.json": "--head=head.json: there is no " +
			"file head.json",
		`C:\Users\jo\rec.edf: no events`:  "rec.edf: no events",
		`open \\server\share\rec.edf`:     "open rec.edf",
		"the disk /home/somebody is full": "the disk somebody is full",
		"/a/b/":                           "b",
		// No paths.
		"P7/P8 in µV/cm², n/a; 3/4 of known/novel": "P7/P8 in µV/cm², n/a; 3/4 of known/novel",
		"site /M1, -200..800ms, 1..2s":             "site /M1, -200..800ms, 1..2s",
		"database and mydata/x":                    "database and mydata/x",
		"":                                         "",
	} {
		if got := f.Strip(text); got != want {
			t.Errorf("%q\nbecame %q\nwant   %q", text, got, want)
		}
	}
	file := filepath.Join("odd place", "of one", "head.json")
	if got := f.Strip(file+": no sites in "+filepath.Dir(file), file); got != "head.json: no sites in its folder" {
		t.Errorf("an input: %q", got)
	}
}

package bids

import (
	"strings"
	"testing"

	"calotte/layout/hostile"
)

func TestParseName(t *testing.T) {
	n, err := ParseName("sub-01_ses-b2_task-flags_run-02_eeg.edf")
	if err != nil || n.Get("sub") != "01" || n.Get("ses") != "b2" || n.Get("task") != "flags" ||
		n.Get("run") != "02" ||
		n.Get("acq") != "" || n.Suffix != "eeg" || n.Extension != ".edf" {
		t.Errorf("%+v, error %v", n, err)
	}
	for _, base := range []string{"sub-01_eeg.bdf", "events.tsv", "task-flags_events.json", "sub-äö_T1w.nii.gz",
		"participants"} {
		if n, err := ParseName(base); err != nil || n.String() != base {
			t.Errorf("%s became %s, error %v", base, n, err)
		}
	}
}

func TestParseNameRefuses(t *testing.T) {
	for base, want := range map[string]string{
		"":                             `it ends in ""`,
		".edf":                         `it ends in ""`,
		"sub-01_.edf":                  `it ends in ""`,
		"sub-01.edf":                   `it ends in "sub-01"`,
		"sub-01_eeg data.edf":          `it ends in "eeg data"`,
		"01_eeg.edf":                   `"01" is no entity`,
		"sub-_eeg.edf":                 `"sub-" is no entity`,
		"-01_eeg.edf":                  `"-01" is no entity`,
		"sub-01-02_eeg.edf":            `"sub-01-02" is no entity`,
		"sub-01__eeg.edf":              `"" is no entity`,
		"sub-01_sub-02_eeg.edf":        `entity "sub" is given twice`,
		"sub-01_task-known/flags_x.gz": `"task-known/flags" is no entity`,
	} {
		if _, err := ParseName(base); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: error %v, want one with %s", base, err, want)
		}
	}
}

func TestRoot(t *testing.T) {
	for file, want := range map[string][2]string{
		"data/harbour/sub-01/eeg/sub-01_task-flags_eeg.edf": {"data/harbour",
			"sub-01/eeg/sub-01_task-flags_eeg.edf"},
		"/sub-01/ses-2/eeg/sub-01_ses-2_eeg.bdf": {"/", "sub-01/ses-2/eeg/sub-01_ses-2_eeg.bdf"},
		"sub-01/eeg/sub-01_eeg.edf":              {".", "sub-01/eeg/sub-01_eeg.edf"},
		"../sub-01/eeg/sub-01_eeg.edf":           {"..", "sub-01/eeg/sub-01_eeg.edf"},
		"sub-01/eeg/sub-02_eeg.edf":              {},
		"sub-01/sub-01_eeg.edf":                  {},
		"xsub-01/eeg/sub-01_eeg.edf":             {},
		"sub-01_eeg.edf":                         {},
		"sub-01/eeg/sub-01_events.tsv":           {},
		"recording.edf":                          {},
		"":                                       {},
	} {
		root, in, ok := Root(file)
		if ok != (want[0] != "") || ok && (root != want[0] || in != want[1]) {
			t.Errorf("%s: %s, %s, %v; want %s, %s", file, root, in, ok, want[0], want[1])
		}
	}
}

func FuzzParseName(f *testing.F) {
	f.Add("sub-01_ses-b2_task-flags_run-02_eeg.edf")
	f.Add("events.tsv")
	f.Fuzz(func(t *testing.T, base string) {
		defer hostile.Budget(t, len(base))()
		n, err := ParseName(base)
		if err == nil && n.String() != strings.TrimSuffix(base, ".") && n.String() != base {
			t.Errorf("%q became %q", base, n)
		}
		Root(base)
	})
}

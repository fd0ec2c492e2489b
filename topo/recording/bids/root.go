package bids

import (
	"path"
	"strings"
)

// Root splits the path of a recording, with forward slashes, into the data
// set's folder and the path in it, if its folders are those of a data set:
// data/harbour/sub-01/eeg/sub-01_eeg.edf is sub-01/eeg/sub-01_eeg.edf in
// data/harbour.
func Root(file string) (root, in string, ok bool) {
	n, err := ParseName(path.Base(file))
	if err != nil || n.Get("sub") == "" || n.Suffix != "eeg" {
		return "", "", false
	}
	folders := "sub-" + n.Get("sub")
	if s := n.Get("ses"); s != "" {
		folders += "/ses-" + s
	}
	in = folders + "/eeg/" + path.Base(file)
	if file == in {
		return ".", in, true
	}
	root, ok = strings.CutSuffix(file, "/"+in)
	if ok && root == "" {
		root = "/"
	}
	return root, in, ok
}

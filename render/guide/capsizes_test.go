package guide

import (
	"strings"
	"testing"

	"calotte/layout/hostile"
)

func TestReadCaps(t *testing.T) {
	caps, err := ReadCaps(strings.NewReader("\uFEFFname\tfrom\tto\r\nM\t54cm\t580mm\r\n\r\nL\t58cm\t62cm\r\n"))
	if err != nil || len(caps) != 2 || caps[0] != (Cap{"M", 540, 580}) || caps[1] != (Cap{"L", 580, 620}) {
		t.Errorf("got %v, %v", caps, err)
	}
	for text, want := range map[string]string{
		"":                                 "no cap size",
		"name\tfrom\tto\n":                 "no cap size",
		"M\t54cm\t58cm\n":                  "line 1",
		"name\tfrom\tto\nM\t54\t58cm\n":    "line 2, from",
		"name\tfrom\tto\nM\t54cm\tx\n":     "line 2, to",
		"name\tfrom\tto\nM 54cm 58cm\n":    "1 columns",
		"name\tfrom\tto\nM\t54,5cm\t1cm\n": "decimal comma",
	} {
		if _, err := ReadCaps(strings.NewReader(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: got %v, want %q", text, err, want)
		}
	}
}

func FuzzReadCaps(f *testing.F) {
	f.Add("name\tfrom\tto\nM\t54cm\t58cm\n")
	f.Add("\uFEFFname\tfrom\tto\n\t\t\n")
	f.Fuzz(func(t *testing.T, text string) {
		defer hostile.Budget(t, len(text))()
		caps, err := ReadCaps(strings.NewReader(text))
		if (err == nil) != (len(caps) > 0) {
			t.Fatalf("%d sizes, error %v", len(caps), err)
		}
	})
}

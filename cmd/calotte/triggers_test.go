package main

import (
	"strings"
	"testing"

	"calotte/cmd/internal/intake"
	"calotte/layout/hostile"
)

func FuzzTriggerFlags(f *testing.F) {
	for _, text := range []string{"Status", "Status&0xff", "Photo>2mV", "Photo<-30uV/300ms", "a>b>c", "&", ">1",
		"x>1/",
		"x&0b11"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		defer hostile.Budget(t, len(text))()
		var c, sameCodes intake.Codes
		if c.Set(text) == nil {
			if err := sameCodes.Set(c.String()); err != nil || sameCodes != c || c.Mask == 0 {
				t.Errorf("%q became %q, which reads as %+v, %v", text, c, sameCodes, err)
			}
		}
		var o, sameOnsets intake.Onsets
		if o.Set(text) == nil {
			if err := sameOnsets.Set(o.String()); err != nil || sameOnsets != o ||
				strings.TrimSpace(o.Channel) == "" {
				t.Errorf("%q became %q, which reads as %+v, %v", text, o, sameOnsets, err)
			}
		}
	})
}

func TestTriggerFlags(t *testing.T) {
	for text, want := range map[string]string{"Status": "Status", "Status & 255": "Status&0xff",
		"Trig&0x1": "Trig&0x1"} {
		var c intake.Codes
		if err := c.Set(text); err != nil || c.String() != want {
			t.Errorf("%q: %q, %v, want %q", text, c, err, want)
		}
	}
	for text, level := range map[string]float64{"Photo>2mV": 2000, "Photo<-30uV/300ms": -30, "Light>0.5": 0.5} {
		var o intake.Onsets
		if err := o.Set(text); err != nil {
			t.Error(err)
		}
		if got, err := o.LevelIn("uV"); err != nil || got != level {
			t.Errorf("%q: level %v, %v, want %v", text, got, err, level)
		}
	}
	var o intake.Onsets
	if err := o.Set("Photo>2mV"); err != nil {
		t.Fatal(err)
	}
	if got, err := o.LevelIn("mV"); err != nil || got != 2 {
		t.Errorf("2 mV of a channel in mV are %v, %v", got, err)
	}
	if _, err := o.LevelIn("degC"); err == nil || !strings.Contains(err.Error(), "bare number") {
		t.Errorf("a voltage for a temperature: %v", err)
	}
}

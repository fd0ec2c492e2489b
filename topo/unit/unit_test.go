package unit

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"calotte/layout/hostile"
)

func TestParse(t *testing.T) {
	var time Time
	var length Length
	var voltage Voltage
	var frequency Frequency
	type setter interface{ Set(string) error }
	for _, c := range []struct {
		into setter
		text string
		want float64
	}{
		{&time, "170ms", 0.17},
		{&time, " 0.17 s ", 0.17},
		{&time, "-200ms", -0.2},
		{&time, "−200ms", -0.2},
		{&time, "250us", 0.00025},
		{&time, "-0ms", 0},
		{&length, "36.2cm", 362},
		{&length, "560mm", 560},
		{&length, "0.56 m", 560},
		{&voltage, "8uV", 8},
		{&voltage, "8µV", 8},
		{&voltage, "8μV", 8}, // the Greek letter, which keyboards give
		{&voltage, "0.15mV", 150},
		{&voltage, "150nV", 0.15},
		{&frequency, "0.1Hz", 0.1},
		{&frequency, ".5kHz", 500},
	} {
		if err := c.into.Set(c.text); err != nil {
			t.Errorf("%q: %v", c.text, err)
			continue
		}
		var got float64
		switch v := c.into.(type) {
		case *Time:
			got = float64(*v)
		case *Length:
			got = float64(*v)
		case *Voltage:
			got = float64(*v)
		case *Frequency:
			got = float64(*v)
		}
		if got != c.want || math.Signbit(got) != math.Signbit(c.want) {
			t.Errorf("%q: got %v, want %v", c.text, got, c.want)
		}
	}
}

// Each error must say what is wrong with what was typed.
func TestErrors(t *testing.T) {
	for _, c := range []struct {
		into interface{ Set(string) error }
		text string
		want []string
	}{
		{new(Length), "36,2cm", []string{`"36,2cm"`, "decimal comma", "36.2cm"}},
		{new(Time), "170", []string{"no unit", "170ms"}},
		{new(Time), "", []string{"no number", "170ms"}},
		{new(Time), "ms", []string{"no number"}},
		{new(Time), "1e3ms", []string{`unknown unit "e3ms"`}},
		{new(Time), "170mm", []string{"mm is the unit of a length", "a time"}},
		{new(Density), "0.5uV/cm2", nil},
		{new(Density), "0.5uV", []string{"uV is the unit of an amplitude", "0.5uV/cm2"}},
		{new(Voltage), "0.5uV/cm2", []string{"unit of a current density"}},
		{new(Time), "170MS", []string{"did you mean ms"}},
		{new(Time), "170min", []string{`unknown unit "min"`, "ms, s"}},
		{new(Time), "1.2.3ms", []string{`"1.2.3" is not a number`}},
		{new(Time), "--3ms", []string{"not a number"}},
		{new(Time), "NaNms", []string{"no number"}},
		{new(Voltage), strings.Repeat("9", 400) + "V", []string{"too large"}},
		{new(Voltage), "8V ", nil},
		{new(Span), "800ms", []string{"no range", "-200..800ms"}},
		{new(Span), "800..-200ms", []string{"backwards", "-200..800ms"}},
		{new(Span), "100..100ms", []string{"empty"}},
		{new(Span), "-200..800", []string{"end of range", "no unit"}},
		{new(Span), "x..800ms", []string{"start of range", "no number"}},
		{new(Latencies), "100ms,,170ms", []string{"nothing between"}},
		{new(Latencies), "100ms,170", []string{"no unit", "100ms,170"}},
		{new(Latencies), "0,17s", []string{"no unit", "decimals take a point"}},
		{new(Latencies), "100ms,0.1s", []string{"twice"}},
	} {
		err := c.into.Set(c.text)
		if (err == nil) != (c.want == nil) {
			t.Errorf("%q: error %v", c.text, err)
			continue
		}
		for _, w := range c.want {
			if !strings.Contains(err.Error(), w) {
				t.Errorf("%q: error %q does not say %q", c.text, err, w)
			}
		}
	}
}

func TestFailedSetKeepsValue(t *testing.T) {
	v, s := Time(0.1), Latencies{{Span{0.1, 0.1}}}
	if v.Set("x") == nil || s.Set("200ms,x") == nil {
		t.Fatal("bad text was accepted")
	}
	if v != 0.1 || len(s) != 1 {
		t.Errorf("a failed Set changed the value: %v %v", v, s)
	}
}

func TestStringReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(-1e12, 1e12).Draw(t, "x")
		y := x + rapid.Float64Range(1e-3, 1e6).Draw(t, "width")
		var time Time
		var length Length
		if err := time.Set(Time(x).String()); err != nil || float64(time) != x {
			t.Fatalf("%v written %q, read %v (%v)", x, Time(x), float64(time), err)
		}
		if err := length.Set(Length(x).String()); err != nil || float64(length) != x {
			t.Fatalf("%v written %q, read %v (%v)", x, Length(x), float64(length), err)
		}
		want := Span{Time(x), Time(y)}
		if want.From == want.To {
			return
		}
		var span Span
		if err := span.Set(want.String()); err != nil || span != want {
			t.Fatalf("%v written %q, read %v (%v)", want, want.String(), span, err)
		}
	})
}

func TestJSON(t *testing.T) {
	type settings struct {
		Epoch Span      `json:"epoch"`
		At    Latencies `json:"at"`
		Limit Voltage   `json:"limit"`
	}
	text := `{"epoch":"-200..800ms","at":"100ms,150..190ms","limit":"8uV"}`
	var s settings
	if err := json.Unmarshal([]byte(text), &s); err != nil {
		t.Fatal(err)
	}
	back, err := json.Marshal(s)
	if err != nil || string(back) != text {
		t.Errorf("got %s (%v), want %s", back, err, text)
	}
}

func FuzzSet(f *testing.F) {
	for _, s := range []string{"170ms", "-200..800ms", "36,2cm", "100ms,150..190ms", "..", "+.ms", "0.1Hz"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		defer hostile.Budget(t, len(text))()
		var l Latencies
		if l.Set(text) != nil {
			return
		}
		var back Latencies
		if err := back.Set(l.String()); err != nil || back.String() != l.String() {
			t.Fatalf("%q was read as %v, which reads back as %v (%v)", text, l, back, err)
		}
	})
}

func ExampleLatency_Label() {
	var at Latencies
	if err := at.Set("-50ms,170ms,150..190ms,-20..20ms"); err != nil {
		fmt.Println(err)
	}
	for _, l := range at {
		fmt.Println(l.Label())
	}
	// Output:
	// −50 ms
	// 170 ms
	// 150–190 ms
	// −20 to 20 ms
}

func ExampleLength_Set() {
	var l Length
	fmt.Println(l.Set("36,2cm"))
	// Output: "36,2cm": a decimal comma; write a point: "36.2cm"; expected a length such as 560mm
}

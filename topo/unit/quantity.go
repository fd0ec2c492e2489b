package unit

// A Time is a duration or a latency in seconds; zero is at the event. It is
// written in milliseconds: 170ms.
type Time float64

// A Length is in millimetres: 560mm.
type Length float64

// A Voltage is an amplitude in microvolts: 8uV.
type Voltage float64

// A Frequency is in hertz: 0.1Hz.
type Frequency float64

// A Density is a current density in microvolts per square centimetre:
// 0.5uV/cm2.
type Density float64

func (t Time) String() string                    { return timeDimension.format(float64(t)) }
func (t *Time) Set(text string) error            { return set(t, &timeDimension, text) }
func (t Time) Type() string                      { return "time" }
func (t Time) MarshalText() ([]byte, error)      { return []byte(t.String()), nil }
func (t *Time) UnmarshalText(text []byte) error  { return t.Set(string(text)) }
func (l Length) String() string                  { return lengthDimension.format(float64(l)) }
func (l *Length) Set(text string) error          { return set(l, &lengthDimension, text) }
func (l Length) Type() string                    { return "length" }
func (l Length) MarshalText() ([]byte, error)    { return []byte(l.String()), nil }
func (l *Length) UnmarshalText(t []byte) error   { return l.Set(string(t)) }
func (v Voltage) String() string                 { return voltageDimension.format(float64(v)) }
func (v *Voltage) Set(text string) error         { return set(v, &voltageDimension, text) }
func (v Voltage) Type() string                   { return "amplitude" }
func (v Voltage) MarshalText() ([]byte, error)   { return []byte(v.String()), nil }
func (v *Voltage) UnmarshalText(t []byte) error  { return v.Set(string(t)) }
func (f Frequency) String() string               { return frequencyDimension.format(float64(f)) }
func (f *Frequency) Set(text string) error       { return set(f, &frequencyDimension, text) }
func (f Frequency) Type() string                 { return "frequency" }
func (f Frequency) MarshalText() ([]byte, error) { return []byte(f.String()), nil }
func (f *Frequency) UnmarshalText(t []byte) error {
	return f.Set(string(t))
}

func (d Density) String() string               { return densityDimension.format(float64(d)) }
func (d *Density) Set(text string) error       { return set(d, &densityDimension, text) }
func (d Density) Type() string                 { return "density" }
func (d Density) MarshalText() ([]byte, error) { return []byte(d.String()), nil }
func (d *Density) UnmarshalText(t []byte) error {
	return d.Set(string(t))
}

// set parses text into q and leaves q alone when it cannot.
func set[Q ~float64](q *Q, d *dimension, text string) error {
	v, err := d.parse(text)
	if err != nil {
		return err
	}
	*q = Q(v)
	return nil
}

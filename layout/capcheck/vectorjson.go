package capcheck

import "encoding/json"

// A vector is written with small letters, as coordinates are everywhere else.
type vector struct {
	X float64 `json:"x"`
	Y float64 `json:"y"`
	Z float64 `json:"z"`
}

// MarshalJSON gives Off as x, y and z.
func (s Site) MarshalJSON() ([]byte, error) {
	type fields Site
	return json.Marshal(struct {
		fields
		Off vector `json:"off"`
	}{fields(s), vector(s.Off)})
}

// MarshalJSON gives Off as x, y and z.
func (e Edge) MarshalJSON() ([]byte, error) {
	type fields Edge
	return json.Marshal(struct {
		fields
		Off vector `json:"off"`
	}{fields(e), vector(e.Off)})
}

// MarshalJSON gives Turn and Shift as x, y and z.
func (f RigidFit) MarshalJSON() ([]byte, error) {
	type fields RigidFit
	return json.Marshal(struct {
		fields
		Turn  vector `json:"turn"`
		Shift vector `json:"shift"`
	}{fields(f), vector(f.Turn), vector(f.Shift)})
}

package average

// Measured is the quality of an average of one person.
type Measured struct {
	Windows []WindowError `json:"windows,omitempty"`
	// root mean square of the plus-minus average over sites and samples
	PlusMinus float64        `json:"plus_minus_uv,omitempty"`
	Hum       float64        `json:"hum_uv,omitempty"` // largest at any site
	HumSite   string         `json:"hum_site,omitempty"`
	Clipped   map[string]int `json:"clipped_samples,omitempty"` // by site, in all epochs of the run
	Note      string         `json:"note,omitempty"`            // why something is not measured
	Warnings  []string       `json:"warnings,omitempty"`        // see [Average.Warnings]
}

// A WindowError is the measurement error of the mean amplitude in a window, see
// [epoch.SME].
type WindowError struct {
	Window string    `json:"window"`
	Median float64   `json:"median_uv"` // over sites
	Worst  float64   `json:"worst_uv"`
	Site   string    `json:"worst_site"`
	Sites  []float64 `json:"sites_uv"` // in the order of the table
}

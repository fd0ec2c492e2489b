package average

// A Repaired is a site that was replaced, and why.
type Repaired struct {
	Site   string `json:"site"` // canonical name
	Reason string `json:"reason"`
	Source string `json:"recording,omitempty"`
}

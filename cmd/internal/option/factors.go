package option

import (
	"errors"
	"slices"
	"strings"

	"calotte/topo/contrast"
)

// Factors is a flag that takes what scores are compared between: conditions or
// sides, or two factors, in either order.
type Factors []contrast.Factor

// questions are those that are answered, their factors in the order of
// [contrast.Factor].
var questions = []Factors{
	{contrast.ByConditions}, {contrast.BySides},
	{contrast.BySides, contrast.ByConditions}, {contrast.BySites, contrast.ByConditions},
	{contrast.ByConditions, contrast.ByGroups}, {contrast.BySides, contrast.ByGroups},
	{contrast.BySites, contrast.ByGroups},
}

// Set implements pflag.Value.
func (f *Factors) Set(text string) error {
	words := strings.Split(text, ",")
	slices.Sort(words)
	for _, q := range questions {
		own := strings.Split(q.String(), ",")
		slices.Sort(own)
		if slices.Equal(words, own) {
			*f = q
			return nil
		}
	}
	return errors.New("expected conditions or sides, or two factors: sides,conditions, sites,conditions, " +
		"conditions,groups, sides,groups or sites,groups")
}

// String implements pflag.Value.
func (f Factors) String() string {
	var words []string
	for _, factor := range f {
		words = append(words, factor.String())
	}
	return strings.Join(words, ",")
}

// Type implements pflag.Value.
func (f Factors) Type() string { return "what" }

// Two reports whether there are two.
func (f Factors) Two() bool { return len(f) == 2 }

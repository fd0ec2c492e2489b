package average

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"calotte/layout/rowtable"
	"calotte/topo/erp/internal/words"
)

// Validate refuses information that no average can have, as a file that was
// edited by hand may hold: a kind that there is not, a negative number of
// epochs, a rate that is none, a name that is more than a line of text.
func (i Info) Validate() error {
	if kinds := []string{Participant, GrandAverage, Table}; !slices.Contains(kinds, i.Kind) {
		return fmt.Errorf("kind %q: expected %q, %q or %q", rowtable.Clip(i.Kind), Participant, GrandAverage,
			Table)
	}
	for _, text := range []struct{ key, value string }{
		{"name", i.Name}, {"condition", i.Condition}, {"minus", i.Minus},
		{"reference", i.Reference}, {"baseline", i.Baseline}, {"filters", i.Filters},
	} {
		if strings.ContainsFunc(text.value, unicode.IsControl) {
			return fmt.Errorf("%s %q: expected one line without control characters", text.key,
				rowtable.Clip(text.value))
		}
		if len(text.value) > longestText {
			return fmt.Errorf("%s %q: expected at most %d characters", text.key, rowtable.Clip(text.value),
				longestText)
		}
	}
	if !(i.Rate >= 0 && i.Rate <= mostRate) {
		return fmt.Errorf("rate_hz %v: expected a number from 0 to %.0f", i.Rate, mostRate)
	}
	if i.Epochs != nil {
		if err := i.Epochs.validate(); err != nil {
			return err
		}
	}
	if i.Unmixed != nil {
		if err := i.Unmixed.validate(); err != nil {
			return err
		}
	}
	for _, m := range i.Members {
		if m.Epochs < 0 || m.Minus < 0 {
			return fmt.Errorf("member %q has %s: expected a number that is not negative",
				rowtable.Clip(m.Name),
				words.Number(min(m.Epochs, m.Minus), "epoch"))
		}
	}
	return nil
}

// longestText is more than any of these is in words, in bytes.
const longestText = 4000

// mostRate is more than any amplifier's, in Hz.
const mostRate = 1e6

func (c Counts) validate() error {
	if c.Kept < 0 {
		return fmt.Errorf("%s kept: expected a number that is not negative", words.Number(c.Kept, "epoch"))
	}
	for reason, n := range c.Rejected {
		if n < 0 {
			return fmt.Errorf("%s rejected (%s): expected a number that is not negative",
				words.Number(n, "epoch"),
				rowtable.Clip(reason))
		}
	}
	return nil
}

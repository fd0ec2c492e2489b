package session

import (
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"calotte/cmd/internal/console"
)

// Required demands a flag and says what it is for.
func Required(c *cobra.Command, flag, example string) error {
	if !c.Flags().Changed(flag) {
		return console.Usagef("--%s is missing: for example %s", flag, example)
	}
	return nil
}

// Optional leaves a zero default out of the help and of the provenance: not
// having said a limit is not a limit of zero.
func Optional(flags *pflag.FlagSet, names ...string) {
	for _, n := range names {
		flags.Lookup(n).DefValue = ""
	}
}

// AtLeast demands at least n arguments, which what names.
func AtLeast(n int, what string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) < n {
			return console.Usagef("%s needs %s: see calotte %s --help", c.Name(), what, c.Name())
		}
		return nil
	}
}

// AtMost refuses more than n arguments, which what names.
func AtMost(n int, what string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) > n {
			return console.Usagef("%s takes %s, not %q: see calotte %s --help", c.Name(), what, args[n],
				c.Name())
		}
		return nil
	}
}

package dialect

import (
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// ofCommandLine are flags that belong to the command line alone.
var ofCommandLine = []string{"help", "spec", "spec-schema", "output", "in", "source-data"}

// FileFlags are flags, of any verb, that name files.
var FileFlags = []string{"head", "scan", "landmarks", "electrodes", "cap-sizes", "text", "events", "exclude", "windows",
	"mark", "unmix", "capcheck", "components", "spec", "declared", "like"}

// FileIn parts the value of a flag that names a file into the file and what
// stands before it: NAME= of the participant whose electrodes they are, else
// nothing. A name holds no separator of folders.
func FileIn(flag, value string) (prefix, file string) {
	if i := strings.IndexByte(value, '='); flag == "electrodes" && i >= 0 && !strings.ContainsAny(value[:i], `/\`) {
		return value[:i+1], value[i+1:]
	}
	return "", value
}

// Keys are the flags of a verb that a file may hold.
func Keys(c *cobra.Command) []string {
	var keys []string
	c.LocalNonPersistentFlags().VisitAll(func(f *pflag.Flag) {
		if !slices.Contains(ofCommandLine, f.Name) {
			keys = append(keys, f.Name)
		}
	})
	return keys
}

// Given are the values of a list as a flag is to be given them: one by one
// where its help says that it may be repeated, else joined by commas, so that
// none takes another's place.
func Given(f *pflag.Flag, values []string) []string {
	if len(values) < 2 || strings.Contains(f.Usage, "repeat for more") || f.Value.Type() == "condition" {
		return values
	}
	return []string{strings.Join(values, ",")}
}

// FlagSchema is the JSON Schema of a flag's value, or of a list of values.
func FlagSchema(f *pflag.Flag) map[string]any {
	property := map[string]any{"description": f.Usage}
	switch f.Value.Type() {
	case "bool":
		property["type"] = "boolean"
	case "int":
		property["type"] = "integer"
	case "float64":
		property["type"] = "number"
	default:
		text := map[string]any{"type": []string{"string", "number"}}
		property["anyOf"] = []any{text, map[string]any{"type": "array", "items": text, "minItems": 1}}
	}
	return property
}

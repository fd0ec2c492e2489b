package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/dialect"
	"calotte/cmd/internal/places"
	"calotte/cmd/internal/session"
	"calotte/topo/provenance"
)

// What a recorded command line may hold: the files of a study of some thousand
// people, and flags such as somebody types. So much work a record of a stranger
// can make at most.
const (
	mostArguments = 10_000
	mostFlags     = 8 << 10 // bytes in all
)

// redoneLine is the recorded command line as far as it has a part in the
// result, with the places of the inputs.
func redoneLine(made *provenance.Record, inputs *places.Set) ([]string, error) {
	takesFiles, ok := redoneVerbs[made.Work]
	if !ok {
		return nil, fmt.Errorf("it says that calotte %s made it, which makes nothing that can be done again",
			console.Echo(made.Work))
	}
	if n := len(made.Arguments); n > mostArguments {
		return nil, fmt.Errorf("it records %d arguments: expected at most %d", n, mostArguments)
	}
	c, _, err := (&app{&session.Session{}}).root().Find([]string{made.Work})
	if err != nil {
		return nil, err
	}
	fates := session.Fates(c)
	var flags, files []string
	long := 0
	for _, arg := range made.Arguments {
		// Only --NAME=VALUE is a flag, as it is recorded; all else
		// names an input, which no other spelling of a flag can do.
		name, value, isFlag := strings.Cut(arg, "=")
		name, begun := strings.CutPrefix(name, "--")
		if isFlag && begun {
			long += len(arg)
			given, err := redoneFlag(c, fates, name, value, inputs)
			if err != nil {
				return nil, err
			}
			flags = append(flags, given...)
			continue
		}
		if !takesFiles {
			return nil, fmt.Errorf("it records the argument %s, and calotte %s with an argument "+
				"asks for more",
				console.Echo(arg), made.Work)
		}
		path, err := inputs.Find(arg)
		if err != nil {
			return nil, err
		}
		files = append(files, path)
	}
	if long > mostFlags {
		return nil, fmt.Errorf("it records flags of %d bytes: expected at most %d", long, mostFlags)
	}
	return append(append(flags, "--"), files...), nil
}

// redoneFlag is what becomes of a recorded flag.
func redoneFlag(c *cobra.Command, fates map[string]session.Fate, name, value string,
	inputs *places.Set) ([]string, error) {
	fate, known := fates[name]
	if !known {
		return nil, fmt.Errorf("it records --%s, and calotte %s has no such flag", console.Echo(name), c.Name())
	}
	switch fate {
	case session.LeftOut:
		return nil, nil
	case session.KeptThere:
		var flags []string
		for _, folder := range inputs.Folders {
			flags = append(flags, "--"+name+"="+folder)
		}
		return flags, nil
	case session.KeptName:
		prefix, file := dialect.FileIn(name, value)
		path, err := inputs.Find(file)
		return []string{"--" + name + "=" + prefix + path}, err
	}
	if v, ok := c.Flag(name).Value.(session.FileOrText); ok && v.IsFile(value) {
		return nil, fmt.Errorf("it records --%s=%s, which is the name of a file here: expected what "+
			"stands in it",
			name,
			console.Echo(value))
	}
	return []string{"--" + name + "=" + value}, nil
}

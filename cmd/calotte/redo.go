package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/dialect"
	"calotte/cmd/internal/disk"
	"calotte/cmd/internal/likeness"
	"calotte/cmd/internal/places"
	"calotte/cmd/internal/session"
	"calotte/topo/provenance"
)

// redo does the recorded work again in a folder of its own and compares what
// comes out. The record may have been written by anyone: only verbs that make
// files, their own flags, and inputs in the given folders have a part in it.
func (a *app) redo(ctx context.Context, path string, folders []string) (likeness.Result, error) {
	var none likeness.Result
	made, inputs, err := recorded(ctx, path, folders)
	if err != nil {
		return none, err
	}
	if made.Version != session.Version {
		a.Warn([]string{fmt.Sprintf("%s was made by version %s, and this is %s: it may differ", path,
			console.Echo(made.Version), session.Version)})
	}
	line, err := redoneLine(made, inputs)
	if err != nil {
		return none, fmt.Errorf("%s cannot be made again: %w", path, err)
	}
	output, err := outputOf(made.Work, path)
	if err != nil {
		return none, err
	}
	dir, remove, err := disk.Temp()
	if err != nil {
		return none, err
	}
	defer remove()
	again := &app{&session.Session{Stdin: strings.NewReader(""), Stdout: io.Discard, Stderr: a.Stderr, Within: dir,
		Places: inputs}}
	folder := filepath.Join(dir, "again")
	line = slices.Concat([]string{made.Work, "--quiet", "--output=" + filepath.Join(folder, output)}, line)
	result := none
	if err = again.runExactly(ctx, line); err == nil {
		result, err = compare(path, folder)
	}
	if usage := (*console.UsageError)(nil); errors.As(err, &usage) {
		err = errors.New(err.Error()) // the mistake is not in this command line
	}
	if err != nil {
		return none, fmt.Errorf("%s, done again: %w", path, withoutFolder{err, folder})
	}
	if where := whereMade(made.MadeOn); result.Verdict == likeness.Rounded && where != "" {
		result.Reason = strings.TrimSuffix(where+"; "+result.Reason, "; ")
	}
	return result, nil
}

// withoutFolder is an error about files of a folder that nobody has heard of,
// by their names.
type withoutFolder struct {
	error
	folder string
}

func (e withoutFolder) Error() string {
	return strings.ReplaceAll(e.error.Error(), e.folder+string(filepath.Separator), "")
}

func (e withoutFolder) Unwrap() error { return e.error }

// recorded reads how a file was made, and says where its inputs may lie.
func recorded(ctx context.Context, path string, folders []string) (*provenance.Record, *places.Set, error) {
	inputs, err := places.New(ctx, append([]string{filepath.Dir(path)}, folders...))
	if err != nil {
		return nil, nil, err
	}
	if beside := archive.Description(path); beside != "" {
		if err := inputs.Within(beside); err != nil {
			return nil, nil, err
		}
	}
	made, err := archive.ReadOrigin(path)
	if err != nil {
		return nil, nil, err
	}
	if len(made.Arguments) == 0 {
		return nil, nil, fmt.Errorf("%s does not say how it was made: its command line was not recorded", path)
	}
	inputs.Inputs = made.Inputs
	return made, inputs, nil
}

// compare compares a file with that of the same name in a folder, where it was
// made again.
func compare(path, again string) (likeness.Result, error) {
	var none likeness.Result
	real, err := places.Resolved(path) // what belongs to it lies beside the file, not beside a link to it
	if err != nil {
		return none, err
	}
	if filepath.Base(real) != filepath.Base(path) {
		return none, fmt.Errorf("it is a link to %s: give that file", real)
	}
	old, err := disk.OpenFolder(filepath.Dir(real))
	if err != nil {
		return none, err
	}
	defer old.Close()
	made, err := disk.OpenFolder(again)
	if err != nil {
		return none, err
	}
	defer made.Close()
	if _, err := made.Lstat(filepath.Base(path)); errors.Is(err, fs.ErrNotExist) {
		return none, errors.New("it makes no file of that name: was it renamed?")
	}
	return likeness.Compare(old, made, filepath.Base(path))
}

// whereMade says on what a file was made, and on what again.
func whereMade(on string) string {
	switch on {
	case session.MadeOn():
		return "" // another build, or another compiler
	case "":
		return "it does not say on what it was made, this is " + session.MadeOn()
	}
	return "made on " + console.Echo(on) + ", this is " + session.MadeOn()
}

// outputOf is what a verb has to write, in a folder, so that a file of the name
// comes out.
func outputOf(verb, path string) (string, error) {
	name := filepath.Base(path)
	ending := filepath.Ext(name)
	stem := strings.TrimSuffix(name, ending)
	switch {
	case verb == "unmix", verb == "average", verb == "combine", verb == "frames" && !isFilm(path):
		return "", nil // the folder itself
	case verb == "guide" && ending != ".pdf":
		return pageNumber().ReplaceAllString(stem, "") + ending, nil
	case ending == ".json":
		described, err := archive.Described(path)
		if err == nil && slices.Contains(described, stem+".tsv") {
			name = stem + ".tsv" // which the JSON comes with
		}
		return name, err
	}
	return name, nil
}

// pageNumber ends the names of a guide's files of a page.
var pageNumber = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`-[0-9]{2,}$`) })

// redoneVerbs are the verbs whose work can be done again, and whether their
// arguments are files. Other verbs ask, serve, or make what does not say how it
// was made.
var redoneVerbs = map[string]bool{
	"unmix": true, "average": true, "combine": true,
	"map": true, "values": true, "traces": true, "frames": true, "explore": true,
	"components": true, "asymmetry": true, "compare": true,
	"capcheck": true,
	"guide":    false, // CODE would ask for measures, or look for those beside the user
}

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

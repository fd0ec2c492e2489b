package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/dialect"
	"calotte/cmd/internal/disk"
	"calotte/topo/erp"
)

// What a recorded command line may hold. A study of some thousand people takes that many
// files; nobody types a longer value.
const (
	mostArguments = 10_000
	mostFlags     = 500
	longestValue  = 16 << 10 // bytes
)

// redo does the recorded work again in a folder of its own and compares what comes out. The
// record may have been written by anyone: only verbs that make files, their own flags, and
// inputs in the given folders have a part in it.
func (a *app) redo(ctx context.Context, path string, folders []string) (same bool, err error) {
	made, err := archive.ReadOrigin(path)
	if err != nil {
		return false, err
	}
	if len(made.Arguments) == 0 {
		return false, fmt.Errorf("%s does not say how it was made: its command line was not recorded", path)
	}
	if made.Version != version {
		a.warn([]string{fmt.Sprintf("%s was made by version %s, and this is %s: the bytes may differ", path, console.Echo(made.Version), version)})
	}
	folders = append([]string{filepath.Dir(path)}, folders...)
	inputs, err := newPlaces(folders, made.Inputs)
	if err != nil {
		return false, err
	}
	line, err := redoneLine(made, inputs)
	if err != nil {
		return false, fmt.Errorf("%s cannot be made again: %w", path, err)
	}
	dir, remove, err := disk.Temp()
	if err != nil {
		return false, err
	}
	defer remove()
	output := filepath.Join(dir, "again", filepath.Base(path))
	if makesFolder(made.Work, path) {
		output = filepath.Dir(output)
	}
	again := &app{stdin: strings.NewReader(""), stdout: io.Discard, stderr: a.stderr, within: dir, find: inputs.findAll}
	if err := again.runExactly(ctx, slices.Concat([]string{made.Work, "--quiet", "--output=" + output}, line)); err != nil {
		err = fmt.Errorf("%s, done again: %w", path, err)
		if usage := (*console.UsageError)(nil); errors.As(err, &usage) { // not of this command line
			err = errors.New(err.Error())
		}
		return false, err
	}
	return sameBytes(path, filepath.Join(dir, "again", filepath.Base(path)))
}

func sameBytes(path, made string) (bool, error) {
	old, err := disk.ReadFile(path)
	if err != nil {
		return false, err
	}
	again, err := disk.ReadFile(made)
	if errors.Is(err, fs.ErrNotExist) {
		return false, fmt.Errorf("%s, done again, makes no file of that name: was it renamed?", path)
	}
	if err != nil {
		return false, err
	}
	return bytes.Equal(old, again), nil
}

// makesFolder reports whether the output of the verb that made a file is its folder.
func makesFolder(verb, path string) bool {
	return verb == "average" || verb == "combine" || verb == "frames" && !isFilm(path)
}

// redoneLine is the recorded command line as far as it has a part in the result, with the
// places of the inputs.
func redoneLine(made *erp.Provenance, inputs *places) ([]string, error) {
	takesFiles, ok := redoneVerbs[made.Work]
	if !ok {
		return nil, fmt.Errorf("it says that calotte %s made it, which makes nothing that can be done again", console.Echo(made.Work))
	}
	if n := len(made.Arguments); n > mostArguments {
		return nil, fmt.Errorf("it records %d arguments: expected at most %d", n, mostArguments)
	}
	c, _, err := (&app{}).root().Find([]string{made.Work})
	if err != nil {
		return nil, err
	}
	fates := fates(c)
	var flags, files []string
	for _, arg := range made.Arguments {
		name, value, isFlag := strings.Cut(strings.TrimPrefix(arg, "--"), "=")
		fate, known := fates[name]
		switch isFlag = isFlag && strings.HasPrefix(arg, "--"); {
		case len(arg) > longestValue:
			return nil, fmt.Errorf("it records an argument of %d bytes, %s: expected at most %d", len(arg), console.Echo(arg), longestValue)
		case !isFlag && !takesFiles:
			return nil, fmt.Errorf("it records the argument %s, and calotte %s with an argument asks for more", console.Echo(arg), made.Work)
		case !isFlag:
			path, err := inputs.find(arg)
			if err != nil {
				return nil, err
			}
			files = append(files, path)
		case !known:
			return nil, fmt.Errorf("it records --%s, and calotte %s has no such flag", console.Echo(name), made.Work)
		case fate == leftOut:
		case fate == keptThere:
			for _, f := range inputs.folders {
				flags = append(flags, "--"+name+"="+f)
			}
		case fate == keptName:
			prefix, file := dialect.FileIn(name, value)
			path, err := inputs.find(file)
			if err != nil {
				return nil, err
			}
			flags = append(flags, "--"+name+"="+prefix+path)
		default:
			if v, ok := c.Flag(name).Value.(fileOrText); ok && v.isFile(value) {
				return nil, fmt.Errorf("it records --%s=%s, which is the name of a file here: expected what stands in it", name, console.Echo(value))
			}
			flags = append(flags, arg)
		}
	}
	if len(flags) > mostFlags {
		return nil, fmt.Errorf("it records %d flags: expected at most %d", len(flags), mostFlags)
	}
	return append(append(flags, "--"), files...), nil
}

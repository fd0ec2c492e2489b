package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/dialect"
	"calotte/cmd/internal/disk"
	"calotte/topo/erp"
)

// redo does the recorded work again in a temporary folder and tells whether the same
// bytes come out.
func (a *app) redo(ctx context.Context, path string, folders []string) (same bool, err error) {
	made, err := archive.ReadOrigin(path)
	if err != nil {
		return false, err
	}
	if len(made.Arguments) == 0 {
		return false, fmt.Errorf("%s does not say how it was made: its command line was not recorded", path)
	}
	if made.Version != version {
		a.warn([]string{fmt.Sprintf("%s was made by version %s, and this is %s: the bytes may differ", path, made.Version, version)})
	}
	folders = append([]string{filepath.Dir(path)}, folders...)
	args, err := located(path, made, folders)
	if err != nil {
		return false, err
	}
	dir, err := os.MkdirTemp("", "calotte-redo-")
	if err != nil {
		return false, err
	}
	defer os.RemoveAll(dir)
	output := filepath.Join(dir, filepath.Base(path))
	if makesFolder(made.Work, path) {
		output = dir
	}
	line := append([]string{made.Work, "--quiet", "--output=" + output}, args...)
	if err := run(ctx, line, strings.NewReader(""), io.Discard, a.stderr); err != nil {
		return false, fmt.Errorf("%s, done again: %w", path, err)
	}
	old, err := disk.ReadFile(path)
	if err != nil {
		return false, err
	}
	again, err := disk.ReadFile(filepath.Join(dir, filepath.Base(path)))
	if errors.Is(err, os.ErrNotExist) {
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

// located replaces the base names in the recorded command line by where the files are.
func located(path string, made *erp.Provenance, folders []string) ([]string, error) {
	var args []string
	for _, arg := range made.Arguments {
		prefix, name := "", arg
		if flag, value, ok := strings.Cut(arg, "="); ok && strings.HasPrefix(flag, "--") {
			if flag == "--in" { // the folders are others now
				for _, f := range folders {
					args = append(args, "--in="+f)
				}
				continue
			}
			if !slices.Contains(dialect.FileFlags, strings.TrimPrefix(flag, "--")) {
				args = append(args, arg)
				continue
			}
			prefix, name = flag+"=", value
		}
		place, err := find(name, made.Inputs, folders)
		if err != nil {
			return nil, fmt.Errorf("%s was made from %s, which %w", path, name, err)
		}
		args = append(args, prefix+place)
	}
	return args, nil
}

// find looks for an input by its name and hash, or for a folder by its name. What no hash
// is recorded of, since it went into another output of the same run, is taken by its name.
func find(name string, inputs []erp.Source, folders []string) (string, error) {
	seen := false
	for dir := range archive.WithPeople(folders) {
		candidate := filepath.Join(dir, name)
		info, err := os.Stat(candidate)
		if err != nil {
			continue
		}
		if info.IsDir() {
			return candidate, nil
		}
		if !slices.ContainsFunc(inputs, func(s erp.Source) bool { return s.Name == name }) {
			return candidate, nil
		}
		seen = true
		same, err := archive.Same(candidate, inputs)
		if err != nil {
			return "", err
		}
		if same {
			return candidate, nil
		}
	}
	if seen {
		return "", errors.New("has changed since: nothing to do again")
	}
	return "", errors.New("is not here: say where with --in FOLDER")
}

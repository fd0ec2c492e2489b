//go:build linux

package main

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"text/scanner"
	"time"

	"calotte/layout/rowtable"
)

// recipes are the files of made.tsv, by their names: hostile ones that are
// large, or another file with a few bytes changed. A recipe is made of words
// with their values, carried out in their order on a file that is empty at
// first:
//
//	from "FILE"          the content of a file of the corpus, or of another recipe
//	text "TEXT"          more text, written as Go writes it: "\x00\n"
//	times N "TEXT"       the same N times; %d is the count from 0
//	at N "TEXT"          in the place of what stands from byte N on
//	put "OLD" "NEW"      in the place of the first OLD, which has to be there
//	keep N               the first N bytes; all but the last −N where N is negative
//	hole N               N bytes in all, by a hole behind the others
//	link "TARGET"        no file but a link
//	pipe "NAME"          no file but a named pipe
type recipes map[string]string

func readMade(t *testing.T) recipes {
	t.Helper()
	file, err := os.Open(filepath.Join(corpusFolder, "made.tsv"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	table, err := rowtable.Read(file, "file", "made")
	if err != nil {
		t.Fatal(err)
	}
	all := recipes{}
	for _, row := range table.Rows {
		all[row.Text("file")] = row.Text("made")
	}
	return all
}

// put makes a file, or copies one of the corpus, or a folder with all in it.
func (m recipes) put(path, name string) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
		return err
	}
	if info, err := os.Stat(filepath.Join(corpusFolder, name)); err == nil && info.IsDir() {
		return os.CopyFS(path, os.DirFS(filepath.Join(corpusFolder, name)))
	}
	f, err := m.make(name)
	switch {
	case err != nil:
		return err
	case f.link != "":
		return os.Symlink(f.link, path)
	case f.pipe != "":
		return syscall.Mkfifo(path, 0o666)
	}
	if err := os.WriteFile(path, f.content, 0o666); err != nil {
		return err
	}
	if f.hole > 0 {
		return os.Truncate(path, f.hole)
	}
	return nil
}

// age makes all files below a folder old, as those that people keep are: what
// is fresh may be treated otherwise. It returns the size of all.
func age(t *testing.T, dir string) (size int64) {
	t.Helper()
	long := time.Date(2020, 2, 2, 2, 2, 2, 0, time.UTC)
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || !d.Type().IsRegular() {
			return err
		}
		info, err := d.Info()
		if err != nil {
			return err
		}
		size += info.Size()
		return os.Chtimes(path, long, long)
	})
	if err != nil {
		t.Fatal(err)
	}
	return size
}

// A madeFile is what a recipe makes.
type madeFile struct {
	content    []byte
	hole       int64
	link, pipe string
}

func (m recipes) make(name string) (f madeFile, err error) {
	recipe, ok := m[name]
	if !ok {
		f.content, err = os.ReadFile(filepath.Join(corpusFolder, name))
		return f, err
	}
	steps, err := readSteps(recipe)
	if err != nil {
		return f, err
	}
	for _, s := range steps {
		if err := f.carryOut(m, s); err != nil {
			return f, fmt.Errorf("%s: %w", s.word, err)
		}
	}
	return f, nil
}

// A step is a word of a recipe with its values.
type step struct {
	word  string
	n     int
	texts []string
}

func readSteps(recipe string) (steps []step, err error) {
	var s scanner.Scanner
	s.Init(strings.NewReader(recipe))
	s.Error = func(_ *scanner.Scanner, text string) { err = errors.New(text) }
	sign := 1
	for token := s.Scan(); token != scanner.EOF && err == nil; token = s.Scan() {
		last := len(steps) - 1
		switch {
		case token == scanner.Ident:
			steps = append(steps, step{word: s.TokenText()})
		case last < 0:
			err = fmt.Errorf("%q stands before the first word", s.TokenText())
		case token == '-':
			sign = -1
		case token == scanner.Int:
			steps[last].n, err = strconv.Atoi(s.TokenText())
			steps[last].n *= sign
			sign = 1
		case token == scanner.String:
			var text string
			text, err = strconv.Unquote(s.TokenText())
			steps[last].texts = append(steps[last].texts, text)
		default:
			err = fmt.Errorf("%q is no word, number or text", s.TokenText())
		}
	}
	return steps, err
}

// texts of each word of a recipe.
var textsOf = map[string]int{"from": 1, "text": 1, "times": 1, "at": 1, "put": 2, "keep": 0, "hole": 0, "link": 1,
	"pipe": 1}

func (f *madeFile) carryOut(m recipes, s step) error {
	if n, known := textsOf[s.word]; !known || n != len(s.texts) {
		return fmt.Errorf("an unknown word, or %d texts", len(s.texts))
	}
	switch s.word {
	case "from":
		other, err := m.make(s.texts[0])
		f.content = append(f.content, other.content...)
		return err
	case "text":
		f.content = append(f.content, s.texts[0]...)
	case "times":
		for i := range s.n {
			f.content = append(f.content, strings.ReplaceAll(s.texts[0], "%d", strconv.Itoa(i))...)
		}
	case "at":
		if s.n+len(s.texts[0]) > len(f.content) {
			return fmt.Errorf("byte %d of %d", s.n, len(f.content))
		}
		copy(f.content[s.n:], s.texts[0])
	case "put":
		if !bytes.Contains(f.content, []byte(s.texts[0])) {
			return fmt.Errorf("there is no %q", s.texts[0])
		}
		f.content = bytes.Replace(f.content, []byte(s.texts[0]), []byte(s.texts[1]), 1)
	case "keep":
		n := s.n
		if n < 0 {
			n += len(f.content)
		}
		if n < 0 || n > len(f.content) {
			return fmt.Errorf("%d of %d bytes", s.n, len(f.content))
		}
		f.content = f.content[:n]
	case "hole":
		f.hole = int64(s.n)
	case "link":
		f.link = s.texts[0]
	case "pipe":
		f.pipe = s.texts[0]
	}
	return nil
}

// Every file of the corpus and every recipe is part of a case, every source
// exists, and the names of cases differ: what nothing runs proves nothing.
func TestCorpusIsUsed(t *testing.T) {
	made := readMade(t)
	used := map[string]bool{"corpus.tsv": true, "made.tsv": true}
	names := map[string]bool{}
	var use func(source string)
	use = func(source string) {
		used[source] = true
		steps, err := readSteps(made[source])
		if err != nil {
			t.Errorf("%s: %v", source, err)
		}
		for _, s := range steps {
			if s.word == "from" {
				use(s.texts[0])
			}
		}
	}
	for _, c := range readCorpus(t) {
		if names[c.name] {
			t.Errorf("two cases are called %q", c.name)
		}
		names[c.name] = true
		for _, f := range append(c.files, c.numbers...) {
			use(f.source)
		}
	}
	for name := range made {
		if !used[name] {
			t.Errorf("no case takes the recipe %s", name)
		}
	}
	for _, path := range listing(t, corpusFolder) {
		name, err := filepath.Rel(corpusFolder, path)
		if err != nil {
			t.Fatal(err)
		}
		folder, _, _ := strings.Cut(name, string(filepath.Separator))
		if !used[name] && !used[folder] && filepath.Ext(name) != ".py" {
			t.Errorf("no case takes %s", name)
		}
	}
}

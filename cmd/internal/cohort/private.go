package cohort

import (
	"cmp"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
)

// Folders are places whose names are nobody's business, and the words that
// stand for them. What a task says of files names them by their paths, and goes
// into results that are handed on; there a path is its base name.
type Folders map[string]string

// add puts a word in the place of a folder, under each of the names that it may
// have in a text.
func (f Folders) add(word string, paths ...string) {
	for _, path := range paths {
		names := []string{filepath.Clean(path)}
		if full, err := filepath.Abs(path); err == nil {
			names = append(names, full)
		}
		if real, err := filepath.EvalSymlinks(path); err == nil {
			names = append(names, real)
		}
		for _, name := range names {
			if strings.Trim(name, `./\`) == "" {
				continue // here, above, or the whole system
			}
			for _, spelt := range []string{name, strings.Trim(strconv.Quote(name), `"`)} {
				f[spelt] = word
			}
		}
	}
}

// RecipeFolders are those of who works on a recipe, where nothing else is known
// of a study.
func RecipeFolders(path string) Folders {
	f := Folders{}
	f.add("the recipe's folder", filepath.Dir(path))
	f.add("the temporary folder", os.TempDir())
	if here, err := os.Getwd(); err == nil {
		f.add("this folder", here)
	}
	if home, err := os.UserHomeDir(); err == nil {
		f.add("the home folder", home)
	}
	return f
}

// privateFolders are those of a plan, too.
func (p *Plan) privateFolders() Folders {
	f := RecipeFolders(p.Path)
	f.add("results", p.Dir)
	for _, name := range p.recordings {
		f.add("recordings", p.SeenFrom(name))
	}
	return f
}

const (
	pathBegins = `(^|[^\pL\d/\\._~-])`
	pathGoesOn = `[^\s"'\x60<>|:;,()\[\]{}]*`
	// elsewhere is a path that begins as no other word does.
	elsewhere = `(?:~|\.{1,2}|[A-Za-z]:|[/\\]{1,2}[^\s/\\:]+)[/\\]` + pathGoesOn
)

// Strip puts base names in place of the paths in a text: those into the
// folders, those into the folders of further files, and what else looks like a
// path to another place.
func (f Folders) Strip(text string, files ...string) string {
	all := maps.Clone(f)
	for _, file := range files {
		all.add("its folder", filepath.Dir(file))
	}
	names := slices.SortedFunc(maps.Keys(all),
		func(a, b string) int { return cmp.Or(len(b)-len(a), cmp.Compare(a, b)) })
	var known []string
	for _, name := range names {
		known = append(known, regexp.QuoteMeta(name)+pathGoesOn)
	}
	// Names with blanks in them are known, and come first; of those the
	// longest.
	paths := lastPaths.compile(pathBegins + "(" + strings.Join(append(known, elsewhere), "|") + ")")
	return paths.ReplaceAllStringFunc(text, func(found string) string {
		at := paths.FindStringSubmatchIndex(found)
		return found[:at[4]] + stripped(found[at[4]:], names, all)
	})
}

// A remembered expression is the last one that was asked for. Thousands of
// people may have failed before anything was read, and all are of the same
// folders.
type remembered struct {
	mutex   sync.Mutex
	pattern string
	made    *regexp.Regexp
}

var lastPaths remembered

func (r *remembered) compile(pattern string) *regexp.Regexp {
	r.mutex.Lock()
	defer r.mutex.Unlock()
	if r.made == nil || r.pattern != pattern {
		r.pattern, r.made = pattern, regexp.MustCompile(pattern)
	}
	return r.made
}

// stripped is what stands for a path: its base name, or the word for a folder.
func stripped(path string, names []string, words Folders) string {
	for _, name := range names {
		if path == name && strings.ContainsAny(name, `/\`) {
			return words[name]
		}
		if rest, ok := strings.CutPrefix(path,
			name); ok && rest != "" && strings.ContainsRune(`/\`, rune(rest[0])) {
			return lastName(rest)
		}
	}
	if isElsewhere().MatchString(path) {
		return lastName(path)
	}
	return path
}

var isElsewhere = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile("^" + elsewhere) })

func lastName(path string) string {
	path = strings.TrimRight(path, `/\`)
	return path[strings.LastIndexAny(path, `/\`)+1:]
}

package main

import (
	"cmp"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/topo/recording"
	"calotte/topo/recording/bids"
)

// A folderEntry is a recording of a BIDS folder with what stands beside it.
type folderEntry struct {
	Path     string `json:"path"`
	Events   bool   `json:"events_table"`
	Channels bool   `json:"channels_table"`
	EEG      bool   `json:"eeg_json"`
	Problem  string `json:"problem,omitempty"`
}

// printFolder lists what a BIDS folder holds.
func (a *app) printFolder(path string, asJSON bool) error {
	fsys := disk.FS(path)
	set, err := bids.Open(fsys)
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	var entries []folderEntry
	for _, file := range set.Recordings {
		e := folderEntry{Path: file.Path}
		if s, err := bids.FindSidecars(fsys, file.Path); err != nil {
			e.Problem = err.Error()
		} else {
			e.Events, e.Channels, e.EEG = s.Events != "", s.Channels != "", len(s.EEG) > 0
		}
		entries = append(entries, e)
	}
	if asJSON {
		return json.NewEncoder(a.Stdout).Encode(struct {
			Title      string        `json:"title"`
			Subjects   []string      `json:"participants"`
			Recordings []folderEntry `json:"recordings"`
			Notes      []string      `json:"notes,omitempty"`
		}{set.Title, set.Subjects, entries, set.Notes})
	}
	var text strings.Builder
	console.Say(&text, "%s\n  %-11s %d: %s\n", cmp.Or(console.Echo(set.Title), "a BIDS folder without a title"),
		"people", len(set.Subjects), strings.Join(set.Subjects, " "))
	for _, e := range entries {
		console.Say(&text, "  %-11s %s%s\n", "recording", e.Path, e.missing())
	}
	for _, label := range set.Subjects {
		if !slices.ContainsFunc(set.Recordings, func(f bids.File) bool { return f.Subject() == label }) {
			console.Say(&text, "  %-11s sub-%s has no recording in EDF or BDF, nor an array\n", "note",
				label)
		}
	}
	for _, n := range set.Notes {
		console.Say(&text, "  %-11s %s\n", "note", n)
	}
	if _, err := a.Stdout.Write([]byte(text.String())); err != nil {
		return err
	}
	if len(set.Recordings) > 0 {
		console.Say(a.Summary(false), "next: %s\n",
			console.ShellLine([]string{"calotte", "contents", path, "--participant",
				set.Recordings[0].Subject()}))
	}
	return nil
}

// missing says which tables a recording does without.
func (e folderEntry) missing() string {
	if e.Problem != "" {
		return ": " + e.Problem
	}
	var texts []string
	for _, s := range []struct {
		there bool
		what  string
	}{{e.Events, "events"}, {e.Channels, "channels"}, {e.EEG, "eeg.json"}} {
		if !s.there {
			texts = append(texts, s.what)
		}
	}
	if texts == nil {
		return ""
	}
	return " (without " + strings.Join(texts, ", ") + ")"
}

// An eventColumn is a column of a table of events with its values.
type eventColumn struct {
	Name   string         `json:"name"`
	Values map[string]int `json:"values"` // how often each stands there; the most frequent
	More   int            `json:"more_values,omitempty"`
}

const mostValues = 6

// columnsOf lists the columns of a recording's events, times aside.
func columnsOf(events []recording.Event) []eventColumn {
	var names []string
	counts := map[string]map[string]int{}
	for _, e := range events {
		for name, value := range e.Columns.All() {
			if name == "onset" || name == "duration" || name == "sample" {
				continue
			}
			if counts[name] == nil {
				counts[name] = map[string]int{}
				names = append(names, name)
			}
			counts[name][value]++
		}
	}
	var columns []eventColumn
	for _, name := range names {
		c := eventColumn{Name: name, Values: map[string]int{}}
		values := slices.SortedFunc(maps.Keys(counts[name]), func(a, b string) int {
			return cmp.Or(cmp.Compare(counts[name][b], counts[name][a]), cmp.Compare(a, b))
		})
		for _, v := range values[:min(mostValues, len(values))] {
			c.Values[v] = counts[name][v]
		}
		c.More = len(values) - len(c.Values)
		columns = append(columns, c)
	}
	return columns
}

// String is "trial_type: known (24), novel (24)".
func (c eventColumn) String() string {
	values := slices.SortedFunc(maps.Keys(c.Values), func(a, b string) int {
		return cmp.Or(cmp.Compare(c.Values[b], c.Values[a]), cmp.Compare(a, b))
	})
	var texts []string
	for _, v := range values {
		texts = append(texts, fmt.Sprintf("%s (%d)", console.Echo(v), c.Values[v]))
	}
	text := console.Echo(c.Name) + ": " + strings.Join(texts, ", ")
	if c.More > 0 {
		text += fmt.Sprintf(" and %d more", c.More)
	}
	return text
}

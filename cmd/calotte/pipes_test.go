//go:build unix

package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"calotte/cmd/internal/console"
)

// A pipe in a data set, of which nobody ever writes the other end, is refused
// by name: opening it would wait for ever.
func TestPipesInDataSets(t *testing.T) {
	for _, name := range []string{
		"dataset_description.json", "participants.tsv", "sub-01/eeg/sub-01_task-flags_events.tsv",
		"sub-01/eeg/sub-01_task-flags_channels.tsv", "sub-01/eeg/sub-01_task-flags_eeg.json",
		"sub-01/eeg/sub-01_electrodes.tsv",
		"sub-01/eeg/sub-01_coordsystem.json", "sub-01/eeg/sub-01_task-flags_eeg.edf",
	} {
		dir, recipe := smallStudy(t, smallRecipe)
		data := filepath.Join(dir, "data")
		writeFile(t, filepath.Join(data, "dataset_description.json"),
			`{"Name": "flags", "BIDSVersion": "1.8.0"}`)
		path := filepath.Join(data, filepath.FromSlash(name))
		os.Remove(path)
		if err := syscall.Mkfifo(path, 0o666); err != nil {
			t.Skip("no pipes here")
		}
		refused := false
		for _, args := range [][]string{
			{"contents", data},
			{"average", data, "--condition", "go=go", "--epoch", "-100..300ms", "--participant", "01", "-o",
				filepath.Join(dir, "out")},
			{"cohort", "run", recipe},
		} {
			var stderr string
			var code int
			ended := make(chan struct{})
			go func() {
				_, stderr, code = calotte(args...)
				close(ended)
			}()
			select {
			case <-ended:
			case <-time.After(20 * time.Second):
				t.Fatalf("%s: calotte %s waits for ever", name, strings.Join(args, " "))
			}
			told := strings.Contains(stderr, fmt.Sprint(filepath.Base(name), " is a device or a pipe"))
			if code != console.OK && !told {
				t.Errorf("%s: calotte %s: exit %d: %s", name, args[0], code, stderr)
			}
			refused = refused || told
		}
		if !refused && !strings.Contains(name, "participants") && !strings.Contains(name, "description") &&
			!strings.Contains(name, "coordsystem") && !strings.Contains(name, "electrodes") {
			t.Errorf("%s: nothing refuses it", name)
		}
	}
}

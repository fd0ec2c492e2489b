package bids

import (
	"io/fs"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"calotte/layout/hostile"
)

// folder returns a file system of empty files, but for those with a text behind
// their path.
func folder(files ...string) fstest.MapFS {
	f := fstest.MapFS{}
	for _, file := range files {
		path, text, _ := strings.Cut(file, " ")
		f[path] = &fstest.MapFile{Data: []byte(text)}
	}
	return f
}

func paths(files []File) []string {
	var p []string
	for _, f := range files {
		p = append(p, f.Path)
	}
	return p
}

// harbour is a data set with sessions, tasks and runs, and what else may lie
// there.
func harbour() fstest.MapFS {
	return folder(
		`dataset_description.json {"Name":"Harbour school","BIDSVersion":"1.8.0"}`,
		"participants.tsv participant_id\tage\nsub-01\t20\nsub-02\tn/a\nsub-10\t31\nsub-11\t25\n",
		"README", "code/sub-99/eeg/sub-99_task-flags_eeg.edf",
		"derivatives/sub-01/eeg/sub-01_task-flags_eeg.edf",
		"sub-10/ses-a/eeg/sub-10_ses-a_task-flags_run-10_eeg.bdf",
		"sub-10/ses-a/eeg/sub-10_ses-a_task-flags_run-9_eeg.bdf",
		"sub-10/ses-a/eeg/sub-10_ses-a_task-flags_run-9_channels.tsv",
		"sub-10/ses-a/anat/sub-10_ses-a_T1w.edf",
		"sub-10/ses-a/ses-b/eeg/sub-10_ses-b_task-flags_eeg.edf",
		"sub-2/eeg/sub-2_task-rest_eeg.EDF",
		"sub-02/eeg/sub-02_task-rest_eeg.edf",
		"sub-02/eeg/sub-02_task-flags_eeg.edf",
		"sub-02/eeg/sub-01_task-flags_eeg.edf",
		"sub-02/eeg/sub-02_ses-a_task-flags_eeg.edf",
		"sub-02/eeg/flags.edf",
		"sub-02/eeg/sub-02_task-flags_ieeg.edf",
		"sub-01/eeg/sub-01_task-flags_events.tsv",
		"sub-03.txt",
	)
}

// Arrays are recordings where the recording itself is not there.
func TestOpenArrays(t *testing.T) {
	d, err := Open(folder(
		`dataset_description.json {"Name":"x","BIDSVersion":"1.8.0"}`,
		"sub-01/eeg/sub-01_task-a_eeg.npy", "sub-01/eeg/sub-01_task-b_eeg.MAT",
		"sub-01/eeg/sub-01_task-c_eeg.edf", "sub-01/eeg/sub-01_task-c_eeg.npy",
		"sub-01/eeg/sub-01_task-d_weights.npy", "sub-01/eeg/own.mat", "sub-01/eeg/sub-02_task-a_eeg.npy"))
	if err != nil {
		t.Fatal(err)
	}
	want := []string{"sub-01/eeg/sub-01_task-a_eeg.npy", "sub-01/eeg/sub-01_task-b_eeg.MAT",
		"sub-01/eeg/sub-01_task-c_eeg.edf"}
	if got := paths(d.Recordings); !slices.Equal(got, want) {
		t.Errorf("recordings %q\nwant %q", got, want)
	}
	notes := []string{"sub-01_task-c_eeg.npy is passed over: the recording itself lies beside it",
		"sub-02_task-a_eeg.npy is passed over: its name does not fit"}
	if len(d.Notes) != len(notes) {
		t.Fatalf("notes %q", d.Notes)
	}
	for i, n := range notes {
		if !strings.HasPrefix(d.Notes[i], n) {
			t.Errorf("note %q, want %q", d.Notes[i], n)
		}
	}
}

// A folder of recordings alone is plain; that of a data set is not.
func TestPlain(t *testing.T) {
	for _, c := range []struct {
		files fstest.MapFS
		want  []string
	}{
		{folder("b.edf", "a.BDF", "c.npy", "notes.txt", "more/d.edf"), []string{"a.BDF", "b.edf"}},
		{folder("a.edf", "sub-01/eeg/sub-01_eeg.edf"), nil},
		{folder("notes.txt"), nil},
	} {
		if got, err := Plain(c.files); err != nil || !slices.Equal(got, c.want) {
			t.Errorf("%q, %v, want %q", got, err, c.want)
		}
	}
}

func TestOpen(t *testing.T) {
	d, err := Open(harbour())
	if err != nil {
		t.Fatal(err)
	}
	if d.Title != "Harbour school" || d.Version != "1.8.0" ||
		!slices.Equal(d.Subjects, []string{"01", "02", "2", "10"}) {
		t.Errorf("title %q, version %q, subjects %q", d.Title, d.Version, d.Subjects)
	}
	want := []string{
		"sub-02/eeg/sub-02_task-flags_eeg.edf",
		"sub-02/eeg/sub-02_task-rest_eeg.edf",
		"sub-2/eeg/sub-2_task-rest_eeg.EDF",
		"sub-10/ses-a/eeg/sub-10_ses-a_task-flags_run-9_eeg.bdf",
		"sub-10/ses-a/eeg/sub-10_ses-a_task-flags_run-10_eeg.bdf",
	}
	if got := paths(d.Recordings); !slices.Equal(got, want) {
		t.Errorf("recordings %q\nwant %q", got, want)
	}
	if last := d.Recordings[4]; last.Subject() != "10" || last.Session() != "a" || last.Task() != "flags" ||
		last.Run() != "10" {
		t.Errorf("%+v", last)
	}
	wantNotes := []string{"flags.edf is passed over",
		"sub-01_task-flags_eeg.edf is passed over: its name does not fit its folder sub-02/eeg",
		"sub-02_ses-a_task-flags_eeg.edf is passed over", "sub-02_task-flags_ieeg.edf is passed over",
		"participants.tsv lists sub-11, who has no folder",
		"participants.tsv does not list sub-2, who has a folder"}
	for i, n := range d.Notes {
		if i >= len(wantNotes) || !strings.HasPrefix(n, wantNotes[i]) {
			t.Errorf("note %d: %s", i, n)
		}
	}
	if len(d.Notes) != len(wantNotes) {
		t.Errorf("%d notes, want %d", len(d.Notes), len(wantNotes))
	}
}

// Folders may be links, as in data sets that keep their files elsewhere.
func TestOpenLinks(t *testing.T) {
	fsys := folder("elsewhere/eeg/sub-01_eeg.edf")
	fsys["sub-01"] = &fstest.MapFile{Data: []byte("elsewhere"), Mode: fs.ModeSymlink}
	fsys["sub-02"] = &fstest.MapFile{Data: []byte("nowhere"), Mode: fs.ModeSymlink}
	d, err := Open(fsys)
	if err != nil || !slices.Equal(d.Subjects, []string{"01"}) || len(d.Recordings) != 1 {
		t.Errorf("%+v, error %v", d, err)
	}
}

func TestChoose(t *testing.T) {
	d, err := Open(harbour())
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		choice Choice
		want   int
		err    string
	}{
		{Choice{}, 5, ""},
		{Choice{Subjects: []string{"sub-02"}}, 2, ""},
		{Choice{Subjects: []string{"02", "2"}, Tasks: []string{"rest"}}, 2, ""},
		{Choice{Tasks: []string{"flags"}}, 3, ""},
		{Choice{Runs: []string{"09"}}, 1, ""},
		{Choice{Sessions: []string{"ses-a"}, Runs: []string{"run-9", "10"}}, 2, ""},
		{Choice{Subjects: []string{"3"}}, 0, "no recording has sub-3: there are sub-02, sub-2, sub-10"},
		{Choice{Tasks: []string{"task-flag"}}, 0,
			"no recording has task-flag: there are task-flags, task-rest"},
		{Choice{Subjects: []string{"10"}, Tasks: []string{"rest"}}, 0, "no recording is left of 5"},
	} {
		got, err := d.Choose(c.choice)
		if len(got) != c.want || (err != nil) != (c.err != "") ||
			err != nil && !strings.HasPrefix(err.Error(), c.err) {
			t.Errorf("%+v: %d recordings, error %v; want %d, %s", c.choice, len(got), err, c.want, c.err)
		}
	}
	if len(d.Recordings) != 5 || d.Recordings[0].Path == "" {
		t.Error("choosing changed the data set")
	}
}

func TestOpenRefuses(t *testing.T) {
	for _, c := range []struct {
		fsys fs.FS
		want string
	}{
		{folder("recording.edf"), "no folder sub-…: expected the folder of a BIDS data set"},
		{folder("sub-01"), "no folder sub-…"},
		{folder("sub-01/eeg/sub-01_eeg.edf", "participants.tsv id\n01\n"),
			`participants.tsv: line 1: no column "participant_id"`},
		{folder("sub-01/eeg/sub-01_eeg.edf", "participants.tsv participant_id\tage\n01\n"),
			"participants.tsv: line 2: 1 columns"},
		{unreadable{harbour(), "sub-02/eeg"}, "open sub-02/eeg: permission denied"},
		{unreadable{harbour(), "participants.tsv"}, "open participants.tsv: permission denied"},
	} {
		if _, err := Open(c.fsys); err == nil || !strings.HasPrefix(err.Error(), c.want) {
			t.Errorf("error %v, want %s", err, c.want)
		}
	}
	for _, text := range []string{"{", "null", "[]", `{"Name":7}`, "\"\xff\""} {
		d, err := Open(folder("sub-01/eeg/sub-01_eeg.edf", "dataset_description.json "+text))
		if err != nil || len(d.Notes) != 1 || !strings.HasPrefix(d.Notes[0], "dataset_description.json: ") {
			t.Errorf("%q: notes %q, error %v", text, d.Notes, err)
		}
	}
}

// unreadable is a file system with one place that nobody may read.
type unreadable struct {
	fs.FS
	path string
}

func (u unreadable) Open(name string) (fs.File, error) {
	if name == u.path {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrPermission}
	}
	return u.FS.Open(name)
}

func TestFindSidecars(t *testing.T) {
	const plain, sessions = "sub-01/eeg/sub-01_task-flags_run-1_eeg.edf", "sub-01/ses-a/eeg/sub-01_ses-a_task-flags_eeg.edf"
	for _, c := range []struct {
		name      string
		recording string
		files     []string
		want      Sidecars
	}{
		{"none", plain, []string{plain}, Sidecars{}},
		{"beside it", plain, []string{"sub-01/eeg/sub-01_task-flags_run-1_events.tsv",
			"sub-01/eeg/sub-01_task-flags_run-1_channels.tsv",
			"sub-01/eeg/sub-01_task-flags_run-1_eeg.json"},
			Sidecars{Events: "sub-01/eeg/sub-01_task-flags_run-1_events.tsv",
				Channels: "sub-01/eeg/sub-01_task-flags_run-1_channels.tsv",
				EEG:      []string{"sub-01/eeg/sub-01_task-flags_run-1_eeg.json"}}},
		{"another run's, task's, subject's", plain,
			[]string{"sub-01/eeg/sub-01_task-flags_run-2_events.tsv",
				"sub-01/eeg/sub-01_task-rest_run-1_events.tsv",
				"sub-01/eeg/sub-02_task-flags_run-1_events.tsv",
				"sub-02/eeg/sub-02_task-flags_run-1_events.tsv"},
			Sidecars{}},
		{"with an entity more", plain, []string{"sub-01/eeg/sub-01_task-flags_acq-x_run-1_events.tsv"},
			Sidecars{}},
		{"with another ending", plain,
			[]string{"sub-01/eeg/sub-01_task-flags_run-1_events.json",
				"sub-01/eeg/sub-01_task-flags_run-1_channels.txt",
				"sub-01/eeg/sub-01_task-flags_run-1_meg.json"},
			Sidecars{}},
		{"inherited", plain, []string{"task-flags_events.tsv", "sub-01/sub-01_channels.tsv",
			"task-flags_eeg.json"},
			Sidecars{Events: "task-flags_events.tsv", Channels: "sub-01/sub-01_channels.tsv",
				EEG: []string{"task-flags_eeg.json"}}},
		{"the nearest folder", plain,
			[]string{"task-flags_run-1_channels.tsv", "sub-01/eeg/sub-01_channels.tsv"},
			Sidecars{Channels: "sub-01/eeg/sub-01_channels.tsv"}},
		{"the most entities", plain,
			[]string{"sub-01/eeg/sub-01_channels.tsv", "sub-01/eeg/sub-01_task-flags_run-1_channels.tsv",
				"sub-01/eeg/sub-01_task-flags_channels.tsv"},
			Sidecars{Channels: "sub-01/eeg/sub-01_task-flags_run-1_channels.tsv"}},
		{"layers of JSON", sessions,
			[]string{"eeg.json", "task-flags_eeg.json", "sub-01/sub-01_eeg.json",
				"sub-01/ses-a/sub-01_ses-a_eeg.json",
				"sub-01/ses-a/eeg/sub-01_ses-a_task-flags_eeg.json",
				"sub-01/ses-b/sub-01_ses-b_eeg.json"},
			Sidecars{EEG: []string{"eeg.json", "task-flags_eeg.json", "sub-01/sub-01_eeg.json",
				"sub-01/ses-a/sub-01_ses-a_eeg.json",
				"sub-01/ses-a/eeg/sub-01_ses-a_task-flags_eeg.json"}}},
		{"positions", plain, []string{"sub-01/eeg/sub-01_electrodes.tsv", "sub-01/eeg/sub-01_coordsystem.json"},
			Sidecars{Electrodes: "sub-01/eeg/sub-01_electrodes.tsv",
				Coordinates: "sub-01/eeg/sub-01_coordsystem.json"}},
		{"positions in a space", plain,
			[]string{"sub-01/eeg/sub-01_space-CapTrak_electrodes.tsv",
				"sub-01/eeg/sub-01_space-CapTrak_coordsystem.json",
				"sub-01/eeg/sub-01_coordsystem.json"},
			Sidecars{Electrodes: "sub-01/eeg/sub-01_space-CapTrak_electrodes.tsv",
				Coordinates: "sub-01/eeg/sub-01_space-CapTrak_coordsystem.json"}},
		{"positions in two spaces", plain,
			[]string{"sub-01/eeg/sub-01_space-a_electrodes.tsv",
				"sub-01/eeg/sub-01_space-b_electrodes.tsv"},
			Sidecars{Notes: []string{"sub-01/eeg/sub-01_space-a_electrodes.tsv and " +
				"sub-01/eeg/sub-01_space-b_electrodes.tsv apply to the recording alike: keep one, or " +
				"tell them apart " +
				"by an entity such as run: no positions are used"}}},
	} {
		got, err := FindSidecars(folder(append(c.files, plain, sessions)...), c.recording)
		if err != nil || got.Events != c.want.Events || got.Channels != c.want.Channels ||
			got.Electrodes != c.want.Electrodes || got.Coordinates != c.want.Coordinates ||
			!slices.Equal(got.EEG, c.want.EEG) || !slices.Equal(got.Notes, c.want.Notes) {
			t.Errorf("%s: got %+v, error %v\nwant %+v", c.name, got, err, c.want)
		}
	}
}

func TestFindSidecarsRefuses(t *testing.T) {
	const recording = "sub-01/eeg/sub-01_task-flags_run-1_eeg.edf"
	for _, c := range []struct {
		path, want string
		files      []string
	}{
		{recording, "sub-01/eeg/sub-01_run-1_events.tsv and sub-01/eeg/sub-01_task-flags_events.tsv " +
			"apply to the " +
			"recording alike", []string{"sub-01/eeg/sub-01_task-flags_events.tsv",
			"sub-01/eeg/sub-01_run-1_events.tsv"}},
		{recording, "task-flags_eeg.json", []string{"run-1_eeg.json", "task-flags_eeg.json"}},
		{"my flags.edf", `name "my flags.edf": it ends in "my flags"`, nil},
		{"sub-02/eeg/sub-02_eeg.edf", "open sub-02: file does not exist", nil},
	} {
		_, err := FindSidecars(folder(append(c.files, recording)...), c.path)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want %s", c.path, err, c.want)
		}
	}
}

// Whatever a data set says of itself and of its people, it opens, or is refused
// in a line.
func FuzzDataset(f *testing.F) {
	f.Add(`{"Name":"Harbour school","BIDSVersion":"1.8.0"}`, "participant_id\tage\nsub-01\t20\n")
	f.Add("null", "\ufeffparticipant_id,sex\r\nsub-02,F\r\n")
	f.Fuzz(func(t *testing.T, description, people string) {
		defer hostile.Budget(t, len(description)+len(people))()
		set := fstest.MapFS{
			"dataset_description.json":  {Data: []byte(description)},
			"participants.tsv":          {Data: []byte(people)},
			"sub-01/eeg/sub-01_eeg.edf": {},
		}
		d, err := Open(set)
		said := ""
		if err != nil {
			said = err.Error()
		} else {
			said = d.Title + d.Version + strings.Join(d.Notes, "")
		}
		if strings.ContainsAny(said, "\r\n\x1b") || err != nil && len(said) > 500 {
			t.Errorf("not for a terminal: %q", said)
		}
	})
}

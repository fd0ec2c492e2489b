package bids

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"slices"
	"strconv"
	"strings"

	"calotte/layout/rowtable"
)

// A File is a recording of a data set.
type File struct {
	Path string // in the data set
	Name
}

// Subject, Session, Task and Run return the labels of a recording, without sub-
// and so on; empty where it has none.
func (f File) Subject() string { return f.Get("sub") }
func (f File) Session() string { return f.Get("ses") }
func (f File) Task() string    { return f.Get("task") }
func (f File) Run() string     { return f.Get("run") }

// A Dataset is what a folder holds.
type Dataset struct {
	Title      string   // of dataset_description.json
	Version    string   // of BIDS, that the data set says it follows
	Subjects   []string // labels, of the folders
	Recordings []File   // by subject, session, task and run
	Notes      []string
}

// Open lists the EEG recordings of a data set, EDF and BDF, and arrays of whose
// names there is neither (no BIDS, which has no arrays). Folders other than
// those of subjects are not looked into. It is an error if there is no folder
// of a subject.
func Open(fsys fs.FS) (*Dataset, error) {
	d := &Dataset{}
	entries, err := fs.ReadDir(fsys, ".")
	if err != nil {
		return nil, err
	}
	for _, e := range entries {
		if label, ok := strings.CutPrefix(e.Name(), "sub-"); ok && isFolder(fsys, e.Name(), e) {
			d.Subjects = append(d.Subjects, label)
			if err := d.subject(fsys, e.Name()); err != nil {
				return nil, err
			}
		}
	}
	if len(d.Subjects) == 0 {
		return nil, errors.New("no folder sub-…: expected the folder of a BIDS data set " +
			"(sub-01/eeg/sub-01_eeg.edf, " +
			"or .npy), or of EDF or BDF files")
	}
	d.describe(fsys)
	if err := d.participants(fsys); err != nil {
		return nil, err
	}
	slices.SortStableFunc(d.Recordings, func(a, b File) int {
		return cmp.Or(natural(a.Subject(), b.Subject()), natural(a.Session(), b.Session()),
			natural(a.Task(), b.Task()), natural(a.Run(), b.Run()), cmp.Compare(a.Path, b.Path))
	})
	slices.SortFunc(d.Subjects, natural)
	return d, nil
}

// Plain lists the EDF and BDF files that lie in a folder which is no data set,
// in the order of their names. Of the folder of a data set, where some folder
// is that of a subject, it lists none.
func Plain(fsys fs.FS) ([]string, error) {
	entries, err := fs.ReadDir(fsys, ".")
	if err != nil {
		return nil, err
	}
	var files []string
	for _, e := range entries {
		switch folder := isFolder(fsys, e.Name(), e); {
		case folder && strings.HasPrefix(e.Name(), "sub-"):
			return nil, nil
		case !folder && isRecording(e.Name()):
			files = append(files, e.Name())
		}
	}
	return files, nil
}

// isRecording reports whether a file is one by its name's ending.
func isRecording(name string) bool {
	extension := strings.ToLower(path.Ext(name))
	return extension == ".edf" || extension == ".bdf"
}

// isArray reports whether a file is an array of numbers by its name's ending.
func isArray(name string) bool {
	extension := strings.ToLower(path.Ext(name))
	return extension == ".npy" || extension == ".mat"
}

// natural compares labels; those that are numbers compare as such.
func natural(a, b string) int {
	x, errX := strconv.Atoi(a)
	y, errY := strconv.Atoi(b)
	if errX == nil && errY == nil && x != y {
		return cmp.Compare(x, y)
	}
	return cmp.Compare(a, b)
}

func (d *Dataset) note(format string, args ...any) {
	d.Notes = append(d.Notes, printable(fmt.Sprintf(format, args...)))
}

// subject looks into the folder of a subject and those of its sessions.
func (d *Dataset) subject(fsys fs.FS, folder string) error {
	entries, err := fs.ReadDir(fsys, folder)
	if err != nil {
		return err
	}
	for _, e := range entries {
		inner := path.Join(folder, e.Name())
		switch {
		case !isFolder(fsys, inner, e):
		case e.Name() == "eeg":
			err = d.recordings(fsys, inner)
		case strings.HasPrefix(e.Name(), "ses-") && !strings.Contains(folder, "/"):
			err = d.subject(fsys, inner)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// isFolder reports whether an entry is a folder, or a link to one.
func isFolder(fsys fs.FS, name string, e fs.DirEntry) bool {
	if e.Type()&fs.ModeSymlink == 0 {
		return e.IsDir()
	}
	info, err := fs.Stat(fsys, name)
	return err == nil && info.IsDir()
}

// recordings lists the recordings of one folder.
func (d *Dataset) recordings(fsys fs.FS, folder string) error {
	entries, err := fs.ReadDir(fsys, folder)
	if err != nil {
		return err
	}
	recorded := map[string]bool{} // names, without their endings, of EDF and BDF files
	for _, e := range entries {
		if isRecording(e.Name()) {
			recorded[stem(e.Name())] = true
		}
	}
	for _, e := range entries {
		array := isArray(e.Name())
		if !array && !isRecording(e.Name()) {
			continue
		}
		n, err := ParseName(e.Name())
		switch {
		case array && (err != nil || n.Suffix != "eeg"):
			continue // an array of something else
		case array && recorded[stem(e.Name())]:
			err = errors.New("the recording itself lies beside it")
		case err == nil && (n.Suffix != "eeg" || !inside(n, folder)):
			err = fmt.Errorf("its name does not fit its folder %s, or does not end in _eeg", folder)
		}
		if err != nil {
			d.note("%s is passed over: %v", e.Name(), err)
			continue
		}
		d.Recordings = append(d.Recordings, File{path.Join(folder, e.Name()), n})
	}
	return nil
}

// stem is a file's name without its ending.
func stem(name string) string { return strings.TrimSuffix(name, path.Ext(name)) }

// inside reports whether a name has the subject and the session of its folder.
func inside(n Name, folder string) bool {
	parts := strings.Split(folder, "/")
	session := ""
	if len(parts) == 3 {
		session = strings.TrimPrefix(parts[1], "ses-")
	}
	return "sub-"+n.Get("sub") == parts[0] && n.Get("ses") == session
}

// describe reads the title. Nothing depends on it, so faults are notes.
func (d *Dataset) describe(fsys fs.FS) {
	const file = "dataset_description.json"
	err := reading(fsys, file, func(r io.Reader) error {
		keys, err := readObject(r)
		o := object{keys: keys}
		d.Title, d.Version = o.text("Name"), o.text("BIDSVersion")
		return cmp.Or(err, o.err)
	})
	if errors.Is(err, fs.ErrNotExist) {
		d.note("there is no %s: every BIDS data set has one", file)
	} else if err != nil {
		d.note("%v", err)
	}
}

// participants compares participants.tsv with the folders.
func (d *Dataset) participants(fsys fs.FS) error {
	const file = "participants.tsv"
	f, err := fsys.Open(file)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	} else if err != nil {
		return err
	}
	defer f.Close()
	t, err := readTable(f)
	if err != nil {
		return fmt.Errorf("%s: %w", file, err)
	}
	id := t.column("participant_id")
	if id < 0 {
		return fmt.Errorf("%s: %w", file, &rowtable.Error{Line: 1, Got: `no column "participant_id"`})
	}
	folders, listed := map[string]bool{}, map[string]bool{}
	for _, label := range d.Subjects {
		folders[label] = true
	}
	for _, r := range t.rows {
		label := strings.TrimPrefix(r.cells[id], "sub-")
		listed[label] = true
		if !folders[label] {
			d.note("%s lists sub-%s, who has no folder", file, short(label))
		}
	}
	for _, label := range d.Subjects {
		if !listed[label] {
			d.note("%s does not list sub-%s, who has a folder", file, label)
		}
	}
	return nil
}

package wearer

import (
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/session"
	"calotte/layout"
	"calotte/topo/contrast"
	"calotte/topo/erp/average"
	"calotte/topo/provenance"
	"calotte/topo/unit"
)

// CapCheckSuffix ends the name of what capcheck --format json printed of a
// person, beside the average.
const CapCheckSuffix = "_capcheck.json"

// farthestPlacement is beyond what any cap sits off by.
const farthestPlacement = unit.Length(30) // mm

// Placement says how caps sat: as each person's cap check found it, as it is
// assumed, or by the check where there is one and else as assumed.
type Placement struct {
	asked   placementValue
	shared  unit.Length
	paths   []string
	sources []provenance.Source
}

// Register adds the flags.
func (p *Placement) Register(c *cobra.Command) {
	c.Flags().Var(&p.asked, "placement",
		"how far caps sit off: such as 5mm (assumed: sd at the ring, about each axis), "+
			"checked (each person's NAME"+CapCheckSuffix+
			" beside the average), or checked,5mm (5mm where there is none)")
	c.Flags().Var(&p.shared, "placement-shared", "what all caps of a group sit off alike, beside that, such as 2mm")
	session.Optional(c.Flags(), "placement-shared")
}

// Checked reports whether cap checks say how caps sat.
func (p *Placement) Checked() bool { return p.asked.checked }

// Asked reports whether placement is to be in the errors.
func (p *Placement) Asked() bool { return p.asked != placementValue{} }

// Check finds what is wrong with the flags before any file is read.
func (p *Placement) Check(c *cobra.Command) error {
	switch {
	case c.Flags().Changed("placement-shared") && !p.Asked():
		return console.Usagef("--placement-shared is beside how each cap sits off: add --placement, such as 5mm")
	case c.Flags().Changed("placement-shared") && (p.shared <= 0 || p.shared > farthestPlacement):
		return console.Usagef("--placement-shared %v: expected more than 0 and at most %v, such as 2mm",
			p.shared,
			farthestPlacement)
	case p.asked.checked && c.Flags().Changed("electrodes"):
		return console.Usagef("--electrodes has the places where the electrodes were: leave it out with " +
			"--placement " +
			"checked, or declare the error of the digitiser, such as --placement 3mm")
	}
	return nil
}

// Of is the placement of the people of a sample, on a head of a radius in mm.
// Their cap checks are looked for in the folders of the files that were read;
// that of one person may be given, else it is empty.
func (p *Placement) Of(sample contrast.Sample, radius float64, read []string, given string) (*contrast.Placement,
	error) {
	names := []string{sample.Average.Info.Name}
	if sample.Average.Info.Kind == average.GrandAverage {
		names, given = nil, ""
		for _, u := range sample.Units {
			names = append(names, u.Info.Name)
		}
	}
	out := &contrast.Placement{Poses: map[string]contrast.Pose{}}
	checked := 0
	for _, name := range names {
		pose, ok, err := p.check(name, read, given)
		switch {
		case err != nil:
			return nil, err
		case ok:
			checked++
		case p.asked.assumed > 0:
			pose = contrast.AssumedPose(float64(p.asked.assumed), radius)
		default:
			return nil, fmt.Errorf("there is no cap check of %s: expected %s%s beside the average, "+
				"as calotte "+
				"capcheck --format json prints it: add what to assume for who has none, such as "+
				"--placement "+
				"checked,5mm", name, name, CapCheckSuffix)
		}
		out.Poses[name] = pose
	}
	out.PoseWords = p.words(checked, len(names))
	out.SharedWords = "none declared"
	if p.shared > 0 {
		out.Shared = contrast.AssumedPose(float64(p.shared), radius).Covariance
		out.SharedWords = assumedWords(p.shared)
	}
	return out, nil
}

// check is the pose of a person by the cap check, where there is one and it is
// asked for.
func (p *Placement) check(name string, read []string, path string) (pose contrast.Pose, ok bool, err error) {
	if !p.asked.checked {
		return pose, false, nil
	}
	if path == "" {
		if path, err = findCapCheck(name, read); err != nil || path == "" {
			return pose, false, err
		}
	}
	pose, err = p.read(path)
	return pose, true, err
}

// assumedWords say that nobody measured how far caps sit off.
func assumedWords(off unit.Length) string { return fmt.Sprintf("%g mm, assumed", float64(off)) }

func (p *Placement) words(checked, of int) string {
	assumed := assumedWords(p.asked.assumed)
	switch {
	case checked == 0:
		return assumed
	case checked == of && of == 1:
		return "by the cap check"
	case checked == of:
		return "by cap checks"
	}
	return fmt.Sprintf("by %s; of the other %d %s", console.Plural(checked, "cap check", "cap checks"), of-checked,
		assumed)
}

func (p *Placement) read(path string) (contrast.Pose, error) {
	pose, source, err := ReadCapCheck(path)
	const most = 45 // degrees: no cap on a head is turned by so much
	switch sure := pose.Covariance.Degrees(); {
	case err != nil:
	case !(r3.Norm(pose.Turn)*180/math.Pi <= most && r3.Norm(sure) <= most):
		err = fmt.Errorf("%s: the cap is turned by %.0f°, with an error of %.0f°: expected some "+
			"degrees: check the "+
			"landmarks", path, r3.Norm(pose.Turn)*180/math.Pi, r3.Norm(sure))
	case pose.Covariance == (layout.PoseCovariance{}):
		err = fmt.Errorf("%s: it does not say how sure the turn of the cap is: check the cap anew, by "+
			"calotte capcheck",
			path)
	}
	if err == nil && !slices.Contains(p.paths, path) {
		p.paths, p.sources = append(p.paths, path), append(p.sources, source)
	}
	return pose, err
}

// findCapCheck is the file of a person beside files that were read; empty:
// there is none.
func findCapCheck(name string, read []string) (string, error) {
	var dirs []string
	for _, path := range read {
		if dir := filepath.Dir(path); !slices.Contains(dirs, dir) {
			dirs = append(dirs, dir)
		}
	}
	for _, dir := range dirs {
		path := filepath.Join(dir, name+CapCheckSuffix)
		if _, err := os.Stat(path); err == nil {
			return path, nil
		} else if !errors.Is(err, fs.ErrNotExist) {
			return "", err
		}
	}
	return "", nil
}

// Paths are the cap checks that were read.
func (p *Placement) Paths() []string { return p.paths }

// Sources are those of the cap checks.
func (p *Placement) Sources() []provenance.Source { return p.sources }

// A placementValue is checked, a length, or both.
type placementValue struct {
	checked bool
	assumed unit.Length
}

func (v *placementValue) Set(text string) error {
	var out placementValue
	for part := range strings.SplitSeq(text, ",") {
		switch {
		case part == "checked" && !out.checked:
			out.checked = true
		case part == "checked" || out.assumed != 0:
			return errors.New("expected a length once, such as 5mm, checked, or checked,5mm")
		default:
			if err := out.assumed.Set(part); err != nil {
				return fmt.Errorf("%w, or checked", err)
			}
			if out.assumed <= 0 || out.assumed > farthestPlacement {
				return fmt.Errorf("expected more than 0 and at most %v, such as 5mm", farthestPlacement)
			}
		}
	}
	*v = out
	return nil
}

func (v *placementValue) String() string {
	var parts []string
	if v.checked {
		parts = append(parts, "checked")
	}
	if v.assumed > 0 {
		parts = append(parts, v.assumed.String())
	}
	return strings.Join(parts, ",")
}

func (v *placementValue) Type() string { return "placement" }

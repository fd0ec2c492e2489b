package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"unicode"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/cmd/internal/option"
	"calotte/cmd/internal/session"
	"calotte/cmd/internal/wearer"
	"calotte/layout"
	"calotte/render/canvas"
	"calotte/render/guide"
	"calotte/topo/provenance"
	"calotte/topo/unit"
)

type guideFlags struct {
	head     wearer.Flags
	blank    bool
	sites    option.Sites
	options  guide.Options
	wearer   string
	again    bool
	notes    wearer.Notes
	strips   bool
	bar      unit.Length
	capSizes string
	text     string
	output   string
	sources  []provenance.Source
}

func (a *app) guide() *cobra.Command {
	f := guideFlags{sites: option.Sites{Text: "10-20", Names: layout.Set1020()}}
	c := &cobra.Command{
		Use:   "guide [CODE]",
		Short: "Print the placement guide that a technician holds",
		Long: `Guide puts this head's numbers on paper, in the order of work: cautions, the distances
along each tape, crossing distances where a tape does not follow, checks, the head as
you stand, and on request strips at true size.

guide CODE asks for the measures in the order of the tape, two readings each, writes
CODE_head.json and then CODE_guide.pdf; where CODE_head.json is there already it asks
nothing, unless --again --force measures anew. CODE is the wearer's code, never a name. Without CODE the head is given by
--head, tape measures or --scan. --blank makes the guide for any head.

Local rules and a licensed practitioner decide.`,
		Example: `  calotte guide --blank -o blank.pdf
  calotte guide --circumference 560mm --nasion-inion 365mm --ear-ear 340mm --wearer P014 -o P014_guide.pdf
  calotte guide --head calotte-demo/pilots_head.json --sites 10-10 --strips --paper Letter -o guide.pdf`,
		Args: session.AtMost(1, "one code"),
		RunE: func(c *cobra.Command, args []string) error { return a.runGuide(c, f, args) },
	}
	flags := c.Flags()
	f.head.Register(c)
	flags.BoolVar(&f.blank, "blank", false, "the guide for any head, before a number exists")
	flags.Var(&f.sites, "sites", "10-20, 10-10, 10-5, or SITE[,SITE]")
	flags.BoolVar(&f.again, "again", false, "ask for the measures although CODE_head.json is there")
	flags.StringVar(&f.wearer, "wearer", "", "the wearer's `CODE`, never a name")
	flags.Var(&f.notes, "note",
		"what was found, as \"scar left above the ear\"; also shunt, plate, skull defect, inion uncertain; "+
			"repeat for more")
	flags.StringVar(&f.options.Date, "date", "", "`DATE` of the visit, as 2026-03-09")
	flags.StringVar(&f.options.Initials, "initials", "", "the technician's `INITIALS`")
	flags.StringVar(&f.options.Ground, "ground", "", "`PLACE` of the ground electrode")
	flags.StringVar(&f.options.Reference, "reference", "", "`PLACE` of the reference electrode")
	flags.Var(&f.options.Paper, "paper", "A4 or Letter")
	flags.Var(&f.options.Stand, "stand", "behind or front: where you stand")
	flags.Var(&f.options.Posture, "posture", "sitting, lying or headrest")
	flags.BoolVar(&f.strips, "strips", false, "add tapes at true size, to cut out")
	flags.Var(&f.bar, "bar", "what a ruler reads on the printed 100 mm bar, such as 98.4mm")
	flags.StringVar(&f.capSizes, "cap-sizes", "", "`FILE` with the lab's cap sizes: name, from, to")
	flags.StringVar(&f.text, "text", "", "`FILE` with the guide's words in another language")
	flags.StringVarP(&f.output, "output", "o", "", "`FILE`.pdf, or .svg or .png for a file a page")
	session.Optional(flags, "bar")
	return c
}

func (a *app) runGuide(c *cobra.Command, f guideFlags, args []string) error {
	if err := f.check(c, args); err != nil {
		return err
	}
	if f.output == "" {
		return console.Usagef("--output is missing: for example -o P014_guide.pdf")
	}
	format, err := canvas.ParseFormat(filepath.Ext(f.output))
	if err != nil {
		return console.Usagef("-o %s: %w", f.output, err)
	}
	if err := f.readOptions(); err != nil {
		return err
	}
	if err := f.options.Check(); err != nil {
		return &console.UsageError{Err: err}
	}
	out := a.Files(f.inputs())
	if format == canvas.PDF {
		if err := out.Plan(f.output); err != nil {
			return err
		}
	}
	pages, asked, err := a.guidePages(c, &f, args, out)
	if err != nil {
		return err
	}
	paths, err := putPages(out, f.output, format, pages, a.Provenance(c, f.sources))
	if err == nil {
		err = c.Context().Err()
	}
	if err != nil {
		return err
	}
	if err := out.Write(c.Context()); err != nil {
		return err
	}
	w := a.Summary(false)
	if asked != "" {
		console.Say(w, "wrote %s\n", asked)
	}
	console.Say(w, "%s → %s\n", console.Plural(len(pages), "page", "pages"), strings.Join(paths, ", "))
	fmt.Fprintln(w, "Print at 100 %, not fitted to the page; left and right are the wearer's.")
	return nil
}

// check finds what is wrong with the flags before any file is read.
func (f *guideFlags) check(c *cobra.Command, args []string) error {
	changed := c.Flags().Changed
	head := wearer.HeadGiven(c)
	switch {
	case len(args) == 1:
		if err := f.takeCode(head, args[0]); err != nil {
			return err
		}
	case f.again:
		return console.Usagef("--again needs CODE: calotte guide P014 --again --force")
	case f.blank:
		for _, name := range []string{head, "wearer", "note", "sites", "strips", "bar", "stand", "posture",
			"ground",
			"reference"} {
			if name != "" && changed(name) {
				return console.Usagef("--blank is for any head: leave out --%s", name)
			}
		}
	case head == "":
		return console.Usagef("guide needs this head: give CODE, --head, tape measures or --scan; or --blank " +
			"for any head")
	}
	if f.wearer != "" {
		if err := checkCode(f.wearer); err != nil {
			return err
		}
	}
	if changed("bar") && !f.strips {
		return console.Usagef("--bar corrects the strips: add --strips")
	}
	return nil
}

// takeCode makes CODE the wearer and the beginning of the files' names. Head is
// the flag that names a head, if any.
func (f *guideFlags) takeCode(head, code string) error {
	if f.blank || f.wearer != "" {
		return console.Usagef("guide %s is a wearer's guide: leave out --blank and --wearer", code)
	}
	if head != "" {
		return console.Usagef("guide %s asks for the measures or reads %s: leave --%s out, or give "+
			"--wearer %s instead",
			code, code+wearer.HeadEnding, head, code)
	}
	if err := checkCode(code); err != nil {
		return err
	}
	if f.output == "" {
		f.output = code + "_guide.pdf"
	}
	return nil
}

// checkCode refuses what cannot be a code, a name with blanks for one.
func checkCode(code string) error {
	for _, r := range code {
		if !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '-' {
			return console.Usagef("the code %q holds %q: use letters, digits and hyphens, and never a name",
				code,
				r)
		}
	}
	return nil
}

// readOptions completes the guide's options from flags and files.
func (f *guideFlags) readOptions() error {
	f.options.Sites, f.options.NoStrips, f.options.Bar = f.sites.Names, !f.strips, f.bar
	if f.text != "" {
		data, err := disk.ReadFile(f.text)
		if err != nil {
			return err
		}
		if f.options.Text, err = guide.ReadText(bytes.NewReader(data)); err != nil {
			return fmt.Errorf("%s: %w", f.text, err)
		}
		f.sources = append(f.sources, archive.Source(f.text, data))
	}
	if f.capSizes != "" {
		data, err := disk.ReadFile(f.capSizes)
		if err != nil {
			return err
		}
		if f.options.Caps, err = guide.ReadCaps(bytes.NewReader(data)); err != nil {
			return fmt.Errorf("%s: %w", f.capSizes, err)
		}
		f.sources = append(f.sources, archive.Source(f.capSizes, data))
	}
	return nil
}

func (f *guideFlags) inputs() []string {
	var paths []string
	for _, p := range []string{f.head.File, f.head.Scan, f.head.Landmarks, f.text, f.capSizes} {
		if p != "" {
			paths = append(paths, p)
		}
	}
	return paths
}

// guidePages makes the pages; asked is the head file that the answers went to.
func (a *app) guidePages(c *cobra.Command, f *guideFlags, args []string,
	out *disk.Files) (pages []canvas.Figure, asked string, err error) {
	if f.blank {
		pages, err = guide.Blank(f.options)
		return pages, "", err
	}
	var head *wearer.Head
	if len(args) == 1 {
		head, asked, err = a.headOfCode(c.Context(), args[0], f.again, out)
	} else {
		head, err = f.head.Read(a.Session, c)
	}
	if err != nil {
		return nil, "", err
	}
	if f.wearer != "" {
		head.Wearer = f.wearer
	}
	head.Notes = append(head.Notes, f.notes...)
	f.sources = append(f.sources, head.Sources...)
	pages, err = guide.Pages(head.Surface, head.Visit, f.options)
	return pages, asked, err
}

// headOfCode reads CODE_head.json, or asks for the measures and queues it.
func (a *app) headOfCode(ctx context.Context, code string, again bool,
	out *disk.Files) (head *wearer.Head, asked string, err error) {
	path := code + wearer.HeadEnding
	if _, err := os.Stat(path); err == nil && !again {
		head, err = a.visitBefore(path, code)
		return head, "", err
	} else if err != nil && !errors.Is(err, os.ErrNotExist) {
		return nil, "", err
	}
	if err := out.Plan(path); err != nil {
		return nil, "", err
	}
	visit, err := wearer.NewInterview(ctx, a.Stdin, a.Stderr).Measures(code)
	if err != nil {
		return nil, "", err
	}
	if head, err = wearer.FromVisit(a.Session, visit); err != nil {
		return nil, "", err
	}
	var file bytes.Buffer
	if err := visit.Encode(&file); err != nil {
		return nil, "", err
	}
	out.Put(path, file.Bytes())
	head.Read(path, file.Bytes())
	return head, path, nil
}

// visitBefore takes the measures of an earlier visit, and says so.
func (a *app) visitBefore(path, code string) (*wearer.Head, error) {
	head, err := (&wearer.Flags{File: path}).FromFile(a.Session)
	if err != nil {
		return nil, err
	}
	if head.Wearer != "" && head.Wearer != code {
		return nil, fmt.Errorf("%s is of the wearer %q, not %q: correct the file, or the code", path,
			head.Wearer,
			code)
	}
	head.Wearer = code
	when := "an earlier visit"
	if head.Date != "" {
		when = head.Date
	}
	console.Say(a.Notes(), "note: the measures are those of %s, of %s; measure again at each visit: "+
		"--again --force\n",
		path, when)
	return head, nil
}

// putPages queues one PDF, or a file a page.
func putPages(out *disk.Files, path string, format canvas.Format, pages []canvas.Figure,
	made provenance.Record) ([]string, error) {
	if format == canvas.PDF {
		var file bytes.Buffer
		if err := canvas.WriteDocument(&file, pages, format, made); err != nil {
			return nil, err
		}
		out.Put(path, file.Bytes())
		return []string{path}, nil
	}
	ext := filepath.Ext(path)
	var paths []string
	for i := range pages {
		paths = append(paths, fmt.Sprintf("%s-%02d%s", strings.TrimSuffix(path, ext), i+1, ext))
	}
	if err := out.Plan(paths...); err != nil {
		return nil, err
	}
	for i, page := range pages {
		var file bytes.Buffer
		if err := canvas.Write(&file, page, format, made); err != nil {
			return nil, err
		}
		out.Put(paths[i], file.Bytes())
	}
	return paths, nil
}

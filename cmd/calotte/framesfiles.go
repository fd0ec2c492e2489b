package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"image"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"time"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/disk"
	"calotte/cmd/internal/figure"
	"calotte/render/canvas"
	"calotte/render/film"
	"calotte/topo/provenance"
)

// A frameWriter takes the frames of a film.
type frameWriter interface {
	write(ctx context.Context, out *disk.Files, plate *film.Plate, film *film.Film, made provenance.Record,
		step func()) error
}

// writer plans the output before anything is drawn.
func (f *framesFlags) writer(out *disk.Files) (frameWriter, error) {
	format, moving := movingFormats[strings.ToLower(filepath.Ext(f.output))]
	if moving {
		return filmFile{f.output, format, time.Duration(float64(time.Second) / f.speed)}, out.Plan(f.output)
	}
	return frameFolder{f.output}, frameFolder{f.output}.plan(out)
}

func still(plate *film.Plate, film *film.Film, k int, img *image.Paletted) canvas.Still {
	return canvas.Still{
		Image: img, Title: plate.Title(), Description: plate.Description(k), Resolution: 100,
		Latency: fmt.Sprintf("%.9g s", film.Times[k]),
	}
}

// A filmFile is one file that moves.
type filmFile struct {
	path   string
	format canvas.MovingFormat
	delay  time.Duration
}

func (f filmFile) write(ctx context.Context, out *disk.Files, plate *film.Plate, film *film.Film,
	made provenance.Record, step func()) error {
	spool, err := out.Spool(f.path)
	if err != nil {
		return err
	}
	size := image.Pt(plate.Width, plate.Height)
	first := still(plate, film, 0, image.NewPaletted(image.Rectangle{Max: size}, plate.Palette()))
	movie, err := canvas.NewMovie(spool, f.format, first, made, len(film.Times), f.delay, heldLast)
	if err != nil {
		return err
	}
	err = plate.Frames(
		func(_ int, img *image.Paletted) ([]byte, error) { return movie.Pack(img) },
		func(_ int, data []byte) error {
			step()
			return errors.Join(ctx.Err(), movie.Add(size, data))
		})
	if err == nil {
		err = movie.Close()
	}
	if err == nil {
		_, err = spool.Close()
	}
	if err == nil {
		err = out.Write(ctx)
	}
	return err
}

// A frameFolder is numbered files with an index. It appears whole or not at
// all.
type frameFolder struct{ dir string }

const (
	indexTable = "frames.tsv"
	indexJSON  = "frames.json"
)

func frameName(k int) string { return fmt.Sprintf("frame-%05d.png", k+1) }

// frameNames are those of a set of frames.
var frameNames = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`^(frame-[0-9]{5,6}\.png|` + regexp.QuoteMeta(indexTable) + "|" +
		regexp.QuoteMeta(indexJSON) + `)$`)
})

func isOfFrames(name string) bool { return frameNames().MatchString(name) }

func (f frameFolder) plan(out *disk.Files) error { return out.PlanFolder(f.dir, isOfFrames) }

func (f frameFolder) write(ctx context.Context, out *disk.Files, plate *film.Plate, film *film.Film,
	made provenance.Record, step func()) error {
	folder, err := out.SpoolFolder(f.dir, isOfFrames)
	if err != nil {
		return err
	}
	var index bytes.Buffer
	figure.Cells(&index, "file", "latency", "sha256")
	err = plate.Frames(
		func(k int, img *image.Paletted) ([]byte, error) {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			var b bytes.Buffer
			if err := canvas.WriteStill(&b, still(plate, film, k, img), made); err != nil {
				return nil, err
			}
			return []byte(archive.Hash(b.Bytes())), folder.Put(frameName(k), b.Bytes())
		},
		func(k int, hash []byte) error {
			step()
			figure.Cells(&index, frameName(k), film.Times[k], string(hash))
			return nil
		})
	if err != nil {
		return err
	}
	record := struct {
		Files      []provenance.Source `json:"files"`
		Limit      float64             `json:"limit_uV"`
		Provenance provenance.Record   `json:"provenance"`
	}{[]provenance.Source{archive.Source(indexTable, index.Bytes())}, plate.Scale.Limit, made}
	text, err := json.MarshalIndent(record, "", "  ")
	if err != nil {
		return err
	}
	err = errors.Join(folder.Put(indexTable, index.Bytes()), folder.Put(indexJSON, append(text, '\n')))
	if err != nil {
		return err
	}
	return out.Write(ctx)
}

package main

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"calotte/topo/erp"
	"calotte/topo/recording"
)

// An openRecording is a recording with its file, whose hash is computed while
// the samples are read.
type openRecording struct {
	*recording.Recording
	path string
	file *os.File
	hash chan hashed
}

type hashed struct {
	sum string
	err error
}

func openRecordingFile(path string, o recording.Options) (*openRecording, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	info, err := file.Stat()
	if err == nil && !info.Mode().IsRegular() {
		err = fmt.Errorf("%s is no file: expected a recording such as rec.edf", path)
	}
	if err != nil {
		file.Close()
		return nil, err
	}
	rec, err := recording.Open(file, info.Size(), o)
	if err != nil {
		err = fmt.Errorf("%s: %w", path, err)
		if _, whole := recording.Open(file, info.Size(), recording.Options{AllowTruncated: true}); whole == nil {
			err = fmt.Errorf("%w; the flag is --allow-truncated", err)
		}
		file.Close()
		return nil, err
	}
	r := &openRecording{rec, path, file, make(chan hashed, 1)}
	go func() {
		h := sha256.New()
		_, err := io.Copy(h, io.NewSectionReader(file, 0, info.Size()))
		r.hash <- hashed{hex.EncodeToString(h.Sum(nil)), err}
	}()
	return r, nil
}

// source waits for the hash.
func (r *openRecording) source() (erp.Source, error) {
	h := <-r.hash
	r.hash <- h
	if h.err != nil {
		return erp.Source{}, fmt.Errorf("hashing %s: %w", r.path, h.err)
	}
	return erp.Source{Name: filepath.Base(r.path), SHA256: h.sum}, nil
}

// Close ends the hashing, by taking the file from under it, and the reading.
func (r *openRecording) Close() error { return r.file.Close() }

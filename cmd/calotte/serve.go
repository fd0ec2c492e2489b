package main

import (
	"bytes"
	"errors"
	"fmt"
	"net/http"
	"os"
	"strconv"
	"sync/atomic"

	"github.com/spf13/cobra"
	"golang.org/x/sync/singleflight"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/figure"
	"calotte/cmd/internal/loopback"
	"calotte/render/page"
)

// A pageServer shows a page of averages, made anew when one of the files that
// it was made of has changed.
type pageServer struct {
	make   func() (study *page.Study, read []string, err error)
	making singleflight.Group // however many ask, it is made once
	shown  atomic.Pointer[shownPage]
}

// A shownPage is a page as it was made last.
type shownPage struct {
	html  []byte
	read  []string
	stamp string // of the files read
}

// serve shows the page to the user of this computer, until it is interrupted.
func (a *app) serve(c *cobra.Command, f *exploreFlags, paths []string) error {
	s := &pageServer{make: func() (*page.Study, []string, error) { return a.study(c, f.fresh(), paths) }}
	if _, err := s.current(); err != nil {
		return err
	}
	server, err := loopback.Listen(f.port)
	if err != nil {
		return fmt.Errorf("%w: end the program that has it, choose another with --port, or leave --port out",
			err)
	}
	fmt.Fprintln(a.Stdout, server.Address())
	fmt.Fprintln(a.Notes(), "paste this address into a browser on this computer, and keep it to yourself: "+
		"who has it "+
		"can read the page. Ctrl-C ends it")
	return server.Serve(c.Context(), s.handler())
}

// fresh is the flags without what was read of their files.
func (f *exploreFlags) fresh() *exploreFlags {
	g := *f
	g.mark = figure.Marks{Path: f.mark.Path}
	g.windows = figure.Windows{Path: f.windows.Path}
	return &g
}

// handler answers for the page and for the stamp of its files.
func (s *pageServer) handler() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", func(w http.ResponseWriter, _ *http.Request) {
		p, err := s.current()
		if err != nil {
			http.Error(w, "calotte: "+err.Error(), http.StatusInternalServerError)
			return
		}
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		w.Header().Set("Content-Length", strconv.Itoa(len(p.html)))
		w.Write(p.html)
	})
	mux.HandleFunc("GET /version", func(w http.ResponseWriter, _ *http.Request) {
		fmt.Fprintln(w, stampOf(s.shown.Load().read))
	})
	return mux
}

// current is the page, made anew if its files have changed. Those who ask while
// it is made get that one.
func (s *pageServer) current() (*shownPage, error) {
	p, err, _ := s.making.Do("", func() (any, error) {
		old := s.shown.Load()
		if old != nil && stampOf(old.read) == old.stamp {
			return old, nil
		}
		made, err := s.made(old)
		if err != nil {
			return nil, err
		}
		s.shown.Store(made)
		return made, nil
	})
	if err != nil {
		return nil, err
	}
	return p.(*shownPage), nil
}

// made makes the page. A file that changes while it is read is read once more;
// what it is of is known from the reading before.
func (s *pageServer) made(old *shownPage) (*shownPage, error) {
	p := &shownPage{}
	if old != nil {
		p.read = old.read
	}
	for range 3 {
		before := stampOf(p.read)
		study, read, err := s.make()
		if err != nil {
			return nil, err
		}
		p.read, p.stamp = read, stampOf(read)
		if p.stamp != before {
			continue
		}
		study.Stamp = p.stamp
		var b bytes.Buffer
		if err := page.Write(&b, study); err != nil {
			return nil, err
		}
		p.html = b.Bytes()
		return p, nil
	}
	return nil, errors.New("the averages change while they are read: load the page again")
}

// stampOf tells whether files have changed.
func stampOf(paths []string) string {
	var b bytes.Buffer
	for _, path := range paths {
		if info, err := os.Stat(path); err == nil {
			fmt.Fprintln(&b, info.Size(), info.ModTime().UnixNano())
		} else {
			fmt.Fprintln(&b, "missing")
		}
	}
	return archive.Hash(b.Bytes())
}

package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"os"
	"strconv"
	"sync"
	"time"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/archive"
	"calotte/render/page"
)

// A pageServer shows a page of averages, made anew when one of the files that it was made
// of has changed.
type pageServer struct {
	make func() (study *page.Study, read []string, err error)

	mutex sync.Mutex
	html  []byte
	err   error
	read  []string
	stamp string // of the files read
}

// serve opens the page from a server that only this machine can reach, until it is
// interrupted.
func (a *app) serve(c *cobra.Command, f *exploreFlags, paths []string) error {
	s := &pageServer{make: func() (*page.Study, []string, error) { return a.study(c, f.fresh(), paths) }}
	if s.refresh(); s.err != nil {
		return s.err
	}
	listener, err := net.Listen("tcp", net.JoinHostPort("127.0.0.1", strconv.Itoa(f.port)))
	if err != nil {
		return fmt.Errorf("port %d of this machine: %w: choose another with --port", f.port, errors.Unwrap(err))
	}
	fmt.Fprintf(a.stdout, "http://%s\n", listener.Addr())
	fmt.Fprintln(a.notes(), "open it in a browser on this machine; Ctrl-C ends it")
	server := &http.Server{Handler: s.handler(), ReadHeaderTimeout: 10 * time.Second}
	stop := context.AfterFunc(c.Context(), func() { server.Close() })
	defer stop()
	if err := server.Serve(listener); !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return c.Context().Err()
}

// fresh is the flags without what was read of their files.
func (f *exploreFlags) fresh() *exploreFlags {
	g := *f
	g.mark = markFlag{path: f.mark.path}
	g.field.windows = windowsFlag{path: f.field.windows.path}
	return &g
}

// handler answers for the page and for the stamp of its files, and to nobody who came by
// another name than this machine's own: a page elsewhere could have its name lead here.
func (s *pageServer) handler() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", func(w http.ResponseWriter, r *http.Request) {
		s.refresh()
		s.mutex.Lock()
		defer s.mutex.Unlock()
		if s.err != nil {
			http.Error(w, "calotte: "+s.err.Error(), http.StatusInternalServerError)
			return
		}
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		w.Write(s.html)
	})
	mux.HandleFunc("GET /version", func(w http.ResponseWriter, r *http.Request) {
		s.mutex.Lock()
		defer s.mutex.Unlock()
		fmt.Fprintln(w, stampOf(s.read))
	})
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		host, _, err := net.SplitHostPort(r.Host)
		if err != nil {
			host = r.Host
		}
		if host != "127.0.0.1" && host != "localhost" {
			http.Error(w, "calotte: this page is for this machine only", http.StatusForbidden)
			return
		}
		w.Header().Set("Cache-Control", "no-store")
		w.Header().Set("X-Content-Type-Options", "nosniff")
		w.Header().Set("Cross-Origin-Resource-Policy", "same-origin")
		mux.ServeHTTP(w, r)
	})
}

// refresh makes the page anew if its files have changed.
func (s *pageServer) refresh() {
	s.mutex.Lock()
	defer s.mutex.Unlock()
	if len(s.html) > 0 && s.err == nil && stampOf(s.read) == s.stamp {
		return
	}
	// A file that changes while it is read is read once more; what it is of is known from the
	// reading before.
	for range 3 {
		before := stampOf(s.read)
		study, read, err := s.make()
		s.html, s.err = nil, err
		if err != nil {
			return
		}
		s.read, s.stamp = read, stampOf(read)
		if s.stamp != before {
			continue
		}
		study.Stamp = s.stamp
		var b bytes.Buffer
		s.err = page.Write(&b, study)
		s.html = b.Bytes()
		return
	}
	s.err = errors.New("the averages change while they are read: load the page again")
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

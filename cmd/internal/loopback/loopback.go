// Package loopback serves pages to the user of this computer and to nobody
// else.
//
// A port of 127.0.0.1 is open to every program and every user of the computer,
// and to every page that a browser on it shows. So a Server answers only under
// a path that nobody can guess, and only to who calls it by its number: a name
// that an attacker makes lead to 127.0.0.1 is another origin to the browser,
// and is refused here. What is refused is not told why. Nobody can hold the
// server up: every connection has deadlines, and those that have not shown the
// path are few.
//
// What it does not hide: who is told the address can read the page, and the
// address shows in the list of processes where a browser is started with it.
//
// # Decisions
//
// The port is new each time, as the path is: at a port that is known, somebody
// else's page could wait for the user beforehand, and leave scripts in the
// browser that read all pages of that port later.
package loopback

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"net"
	"net/http"
	"strconv"
	"time"
)

// A Server answers on a port of 127.0.0.1.
type Server struct {
	listener net.Listener
	token    string // 130 bits, the first part of every path
	bounds   bounds
}

// bounds are what one connection, and all of strangers together, may take.
type bounds struct {
	reading   time.Duration // of a request
	writing   time.Duration // of the answer, making it included
	idle      time.Duration // between two requests
	ending    time.Duration // of requests under way when the server ends
	header    int           // bytes of a request's header
	strangers int           // connections that have not shown the token
}

// standing are the bounds of every server. Browsers send what other servers of
// 127.0.0.1 have them keep, so a header may be long.
var standing = bounds{
	reading: 5 * time.Second, writing: time.Minute, idle: time.Minute, ending: time.Second,
	header: 32 << 10, strangers: 256,
}

// Listen takes a port of 127.0.0.1, any that is free where it is 0. It fails
// where the port is taken.
func Listen(port int) (*Server, error) {
	listener, err := net.Listen("tcp4", net.JoinHostPort("127.0.0.1", strconv.Itoa(port)))
	if err != nil {
		var of *net.OpError
		if errors.As(err, &of) {
			err = of.Err // without the address, which the port says
		}
		return nil, fmt.Errorf("port %d of this computer: %w", port, err)
	}
	return &Server{listener: listener, token: rand.Text(), bounds: standing}, nil
}

// Address is where the pages are. It holds the secret path, and is for the user
// alone.
func (s *Server) Address() string {
	return "http://" + s.host() + s.folder()
}

// host is what the server goes by: 127.0.0.1 and the port that it really has.
func (s *Server) host() string { return s.listener.Addr().String() }

// folder is the path that all pages lie under.
func (s *Server) folder() string { return "/" + s.token + "/" }

// Serve answers with h, which sees paths as if its pages lay at the root, until
// the context ends or the port fails; the error says which. Requests that are
// under way at the end are given a second.
func (s *Server) Serve(ctx context.Context, h http.Handler) error {
	unknown := &strangers{most: s.bounds.strangers}
	server := &http.Server{
		Handler:     s.guard(h, unknown),
		ReadTimeout: s.bounds.reading, WriteTimeout: s.bounds.writing, IdleTimeout: s.bounds.idle,
		MaxHeaderBytes: s.bounds.header,
		ConnState:      unknown.follow, ConnContext: withConn,
		DisableGeneralOptionsHandler: true, // which would answer without being asked properly
	}
	ended := make(chan struct{})
	stop := context.AfterFunc(ctx, func() {
		defer close(ended)
		grace, cancel := context.WithTimeout(context.Background(), s.bounds.ending)
		defer cancel()
		if server.Shutdown(grace) != nil {
			server.Close()
		}
	})
	if err := server.Serve(s.listener); !errors.Is(err, http.ErrServerClosed) {
		stop()
		server.Close()
		return err
	}
	<-ended
	return ctx.Err()
}

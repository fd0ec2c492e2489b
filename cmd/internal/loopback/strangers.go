package loopback

import (
	"context"
	"net"
	"net/http"
	"slices"
	"sync"
)

// strangers are the connections that have not shown the token yet, in the order
// in which they came. Where they are too many, the one that came first is
// closed: a limit that let later ones wait would let strangers keep the user
// out.
type strangers struct {
	most  int
	mutex sync.Mutex
	conns []net.Conn
}

// follow takes note of connections that come and go.
func (s *strangers) follow(c net.Conn, state http.ConnState) {
	switch state {
	case http.StateNew:
		s.meet(c)
	case http.StateClosed:
		s.forget(c)
	}
}

func (s *strangers) meet(c net.Conn) {
	s.mutex.Lock()
	defer s.mutex.Unlock()
	s.conns = append(s.conns, c)
	if len(s.conns) > s.most {
		s.conns[0].Close()
		s.conns = slices.Delete(s.conns, 0, 1)
	}
}

// forget leaves a connection out that has gone, or is no stranger.
func (s *strangers) forget(c net.Conn) {
	s.mutex.Lock()
	defer s.mutex.Unlock()
	if i := slices.Index(s.conns, c); i >= 0 {
		s.conns = slices.Delete(s.conns, i, i+1)
	}
}

// connKey is under which a request's context holds its connection.
type connKey struct{}

func withConn(ctx context.Context, c net.Conn) context.Context {
	return context.WithValue(ctx, connKey{}, c)
}

func connOf(r *http.Request) net.Conn { return r.Context().Value(connKey{}).(net.Conn) }

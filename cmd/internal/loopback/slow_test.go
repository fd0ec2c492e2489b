package loopback

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"strings"
	"sync/atomic"
	"testing"
	"time"
)

// impatient are bounds that a test can wait for.
func impatient() bounds {
	b := standing
	b.reading, b.writing, b.idle, b.ending = 500*time.Millisecond, 2*time.Second, 1500*time.Millisecond,
		500*time.Millisecond
	return b
}

// closedWithin waits until the server has closed a connection.
func closedWithin(t *testing.T, c net.Conn, least, most time.Duration) {
	t.Helper()
	begin := time.Now()
	c.SetReadDeadline(begin.Add(20 * time.Second))
	_, err := io.Copy(io.Discard, c)
	took := time.Since(begin)
	var late net.Error
	if errors.As(err, &late) && late.Timeout() || took < least || took > most {
		t.Errorf("the connection lasts %v (%v)", took, err)
	}
}

// Who says nothing, or says it one letter at a time, is let go.
func TestSlowRequestsEnd(t *testing.T) {
	s, _ := started(t, impatient(), text("page"))
	request := fmt.Sprintf("GET %s HTTP/1.1\r\nHost: %s\r\n", s.folder(), s.host())
	for _, c := range []struct {
		name, text string
		pause      time.Duration // after each letter
		least      time.Duration
	}{
		{"nothing", "", 0, 300 * time.Millisecond},
		{"letters", request + strings.Repeat("x", 200), 50 * time.Millisecond, 300 * time.Millisecond},
		{"a body that does not come", request + "Content-Length: 100\r\n\r\n", 0, 300 * time.Millisecond},
		{"nothing more", request + "\r\n", 0, time.Second},
	} {
		t.Run(strings.ReplaceAll(c.name, " ", "_"), func(t *testing.T) {
			t.Parallel()
			conn := dialled(t, s)
			go func() {
				for _, letter := range []byte(c.text) {
					if _, err := conn.Write([]byte{letter}); err != nil {
						return
					}
					time.Sleep(c.pause)
				}
			}()
			closedWithin(t, conn, c.least, 5*time.Second)
		})
	}
}

// A page may take longer to make than a request may take to come.
func TestSlowPagesArrive(t *testing.T) {
	s, _ := started(t, impatient(), http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		time.Sleep(time.Second)
		io.WriteString(w, "page")
	}))
	if _, body := asked(t, s,
		fmt.Sprintf("GET %s HTTP/1.0\r\nHost: %s\r\n\r\n", s.folder(), s.host())); body != "page" {
		t.Errorf("got %q", body)
	}
}

// endless answers until it fails, which takes as long as the reader and the
// deadlines let it.
func endless(w io.Writer) error {
	for block := make([]byte, 1<<20); ; {
		if _, err := w.Write(block); err != nil {
			return err
		}
	}
}

// ignored asks for an endless answer, and never reads it.
func ignored(t *testing.T, s *Server) {
	t.Helper()
	c := dialled(t, s)
	c.(*net.TCPConn).SetReadBuffer(4096)
	fmt.Fprintf(c, "GET %slarge HTTP/1.1\r\nHost: %s\r\n\r\n", s.folder(), s.host())
}

// Two hundred readers that ask and never read keep nobody from the page, and
// are let go.
func TestSlowReadersBlockNobody(t *testing.T) {
	const readers = 200
	var waiting, let atomic.Int64
	page := make([]byte, 1<<20)
	s, _ := started(t, impatient(), http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path != "/large" {
			w.Write(page)
			return
		}
		waiting.Add(1)
		if err := endless(w); errors.Is(err, os.ErrDeadlineExceeded) {
			let.Add(1)
		}
	}))
	for range readers {
		ignored(t, s)
	}
	for waiting.Load() < readers {
		time.Sleep(time.Millisecond)
	}
	userWithin(t, s, time.Second)
	for end := time.Now().Add(s.bounds.writing + 10*time.Second); let.Load() <
		readers; time.Sleep(10 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("%d of %d are let go", let.Load(), readers)
		}
	}
}

// However many strangers come and stay, the user gets in, and few of them are
// kept.
func TestStrangersKeepNobodyOut(t *testing.T) {
	b := standing
	b.strangers, b.reading = 50, time.Minute
	s, _ := started(t, b, text("page"))
	user := dialled(t, s)
	known := bufio.NewReader(user)
	ask := func() {
		t.Helper()
		fmt.Fprintf(user, "GET %s HTTP/1.1\r\nHost: %s\r\n\r\n", s.folder(), s.host())
		response, err := http.ReadResponse(known, nil)
		if err != nil {
			t.Fatal(err)
		}
		io.Copy(io.Discard, response.Body)
	}
	ask()
	var strangers []net.Conn
	for range 400 {
		strangers = append(strangers, dialled(t, s))
	}
	userWithin(t, s, time.Second)
	ask() // who has shown the token is no stranger, and stays
	kept := 0
	for _, c := range strangers {
		c.SetReadDeadline(time.Now().Add(time.Millisecond))
		var late net.Error
		if _, err := c.Read(make([]byte, 1)); errors.As(err, &late) && late.Timeout() {
			kept++
		}
	}
	if kept == 0 || kept > b.strangers {
		t.Errorf("%d of 400 strangers are kept, want up to %d", kept, b.strangers)
	}
}

package loopback

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"time"
)

// started serves h with some bounds, and says how the server ends.
func started(t *testing.T, b bounds, h http.Handler) (s *Server, stop func() error) {
	t.Helper()
	s, err := Listen(0)
	if err != nil {
		t.Fatal(err)
	}
	s.bounds = b
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(ctx, h) }()
	t.Cleanup(cancel)
	return s, func() error {
		cancel()
		return <-ended
	}
}

// text answers everything with some words.
func text(words string) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { io.WriteString(w, words) })
}

// dialled is a connection to the server that a test may hold as long as it
// runs.
func dialled(t *testing.T, s *Server) net.Conn {
	t.Helper()
	c, err := net.Dial("tcp", s.host())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { c.Close() })
	c.SetDeadline(time.Now().Add(30 * time.Second))
	return c
}

// asked sends bytes as they are, and returns the answer with its body.
func asked(t *testing.T, s *Server, request string) (*http.Response, string) {
	t.Helper()
	c := dialled(t, s)
	if _, err := io.WriteString(c, request); err != nil {
		t.Fatal(err)
	}
	method, _, _ := strings.Cut(request, " ")
	response, err := http.ReadResponse(bufio.NewReader(c), &http.Request{Method: method})
	if err != nil {
		t.Fatalf("%q: %v", request, err)
	}
	body, err := io.ReadAll(response.Body)
	if err != nil {
		t.Fatalf("%q: %v", request, err)
	}
	return response, string(body)
}

// userWithin fails where the user does not get the page in time.
func userWithin(t *testing.T, s *Server, most time.Duration) {
	t.Helper()
	client := &http.Client{Timeout: 20 * time.Second, Transport: &http.Transport{DisableKeepAlives: true}}
	begin := time.Now()
	response, err := client.Get(s.Address())
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	if _, err := io.ReadAll(response.Body); err != nil || response.StatusCode != http.StatusOK {
		t.Fatalf("the user gets %d (%v)", response.StatusCode, err)
	}
	if took := time.Since(begin); took > most {
		t.Errorf("the user waits for %v", took)
	} else {
		t.Logf("the user waits for %v", took)
	}
}

// Only who calls the server by its number and knows the path is answered,
// whatever form the request has; and what is refused looks like a place where
// nothing is.
func TestWhoIsAnswered(t *testing.T) {
	var reached atomic.Int64
	s, _ := started(t, standing, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		reached.Add(1)
		fmt.Fprint(w, "secret ", r.URL.Path)
	}))
	host, folder := s.host(), s.folder()
	_, port, err := net.SplitHostPort(host)
	if err != nil {
		t.Fatal(err)
	}
	number, err := strconv.Atoi(port)
	if err != nil {
		t.Fatal(err)
	}
	get := func(target, host string) string {
		return "GET " + target + " HTTP/1.1\r\nHost: " + host + "\r\n\r\n"
	}
	for _, c := range []struct {
		name, request string
		code          int
		body          string // of what is answered
	}{
		{"the user", get(folder, host), 200, "secret /"},
		{"the user, farther down", get(folder+"version", host), 200, "secret /version"},
		{"an old program of the user", "GET " + folder + " HTTP/1.0\r\nHost: " + host + "\r\n\r\n", 200,
			"secret /"},
		{"the user, who wants no body", "HEAD " + folder + " HTTP/1.1\r\nHost: " + host + "\r\n\r\n", 200, ""},

		{"no token", get("/", host), 404, ""},
		{"no token, a known name", get("/version", host), 404, ""},
		{"another token", get("/"+strings.Repeat("A", len(s.token))+"/", host), 404, ""},
		{"the token in the other case", get(strings.ToLower(folder), host), 404, ""},
		{"a part of the token", get(folder[:len(folder)-2]+"/", host), 404, ""},
		{"more than the token", get("/"+s.token+"A/", host), 404, ""},
		{"the token alone", get("/"+s.token, host), 404, ""},
		{"the token as a query", get("/?"+s.token, host), 404, ""},
		{"the token farther down", get("/a"+folder, host), 404, ""},
		{"the token after two slashes", get("/"+folder, host), 404, ""},
		{"the token after a dot", get("/."+folder, host), 404, ""},
		{"the token after a way up", get("/a/.."+folder, host), 404, ""},
		{"the token, its slash encoded", get("/"+s.token+"%2f", host), 404, ""},
		{"the token, a letter encoded", get(fmt.Sprintf("/%%%02x%s/", s.token[0], s.token[1:]), host), 404, ""},

		{"a name that leads here", get(folder, "rebound.example:"+port), 404, ""},
		{"a name without a port", get(folder, "rebound.example"), 404, ""},
		{"a name that begins like the number", get(folder, "127.0.0.1.rebound.example:"+port), 404, ""},
		{"the computer's own name", get(folder, "localhost:"+port), 404, ""},
		{"the number with a dot", get(folder, "127.0.0.1.:"+port), 404, ""},
		{"the number, short", get(folder, "127.1:"+port), 404, ""},
		{"the number in one", get(folder, "2130706433:"+port), 404, ""},
		{"the number of version six", get(folder, "[::1]:"+port), 404, ""},
		{"the number, mapped", get(folder, "[::ffff:127.0.0.1]:"+port), 404, ""},
		{"no port", get(folder, "127.0.0.1"), 404, ""},
		{"an empty port", get(folder, "127.0.0.1:"), 404, ""},
		{"another port", get(folder, "127.0.0.1:"+strconv.Itoa(number+1)), 404, ""},
		{"the port with a nought", get(folder, "127.0.0.1:0"+port), 404, ""},
		{"an empty host", get(folder, ""), 404, ""},
		{"a host with a user", get(folder, "user@"+host), 400, ""},
		{"two hosts", "GET " + folder + " HTTP/1.1\r\nHost: " + host + "\r\nHost: rebound.example\r\n\r\n", 400,
			""},
		{"no host", "GET " + folder + " HTTP/1.1\r\n\r\n", 400, ""},
		{"no host, as long ago", "GET " + folder + " HTTP/1.0\r\n\r\n", 404, ""},

		{"a target for a proxy", get("http://"+host+folder, host), 404, ""},
		{"a target for a proxy, from a name", get("http://"+host+folder, "rebound.example"), 404, ""},
		{"a target for a proxy, to a name", get("http://rebound.example"+folder, host), 404, ""},
		{"a target for a proxy, safe", get("https://"+host+folder, host), 404, ""},
		{"a target with a user", get("http://user@"+host+folder, host), 404, ""},
		{"a tunnel", "CONNECT " + host + " HTTP/1.1\r\nHost: " + host + "\r\n\r\n", 404, ""},
		{"what there is at all", "OPTIONS * HTTP/1.1\r\nHost: " + host + "\r\n\r\n", 404, ""},
		{"a way up", get("/../../etc/passwd", host), 404, ""},
		{"a request that is none", "secret\r\n\r\n", 400, ""},
		{"a huge header", "GET " + folder + " HTTP/1.1\r\nHost: " + host + "\r\nX: " + strings.Repeat("x",
			64<<10) + "\r\n\r\n", 431, ""},
		{"a huge target", get(folder+strings.Repeat("x", 64<<10), host), 431, ""},
	} {
		t.Run(strings.ReplaceAll(c.name, " ", "_"), func(t *testing.T) {
			before := reached.Load()
			response, body := asked(t, s, c.request)
			if response.StatusCode != c.code {
				t.Errorf("%d, want %d: %q", response.StatusCode, c.code, body)
			}
			if got := reached.Load() > before; got != (c.code == http.StatusOK) {
				t.Errorf("the page is asked: %v", got)
			}
			if c.code == http.StatusOK && body != c.body {
				t.Errorf("got %q, want %q", body, c.body)
			}
			if c.code == http.StatusNotFound && (body != "404 page not found\n" || !response.Close) {
				t.Errorf("refused with %q, closed: %v", body, response.Close)
			}
			if c.code != http.StatusOK && c.code != http.StatusNotFound {
				return // the library's own answer to what is no request
			}
			for name, want := range map[string]string{
				"Cache-Control": "no-store", "Referrer-Policy": "no-referrer",
				"X-Content-Type-Options":       "nosniff",
				"Cross-Origin-Resource-Policy": "same-origin",
				"Content-Security-Policy":      "frame-ancestors 'none'",
			} {
				if got := response.Header.Get(name); got != want {
					t.Errorf("%s is %q, want %q", name, got, want)
				}
			}
		})
	}
}

// Every server has a path of its own, of 128 bits and more: 26 letters of 32.
func TestPathsDiffer(t *testing.T) {
	paths := map[string]bool{}
	for range 20 {
		s, err := Listen(0)
		if err != nil {
			t.Fatal(err)
		}
		defer s.listener.Close()
		paths[s.token] = true
		if len(s.token) < 26 || s.Address() != "http://"+s.host()+"/"+s.token+"/" {
			t.Errorf("the address is %s", s.Address())
		}
	}
	if len(paths) != 20 {
		t.Errorf("20 servers have %d paths", len(paths))
	}
}

// Nobody listens but at 127.0.0.1, and nobody at a port that is taken.
func TestListensHereOnly(t *testing.T) {
	s, _ := started(t, standing, text("page"))
	_, port, err := net.SplitHostPort(s.host())
	if err != nil {
		t.Fatal(err)
	}
	elsewhere := []string{"127.0.0.2", "::1"}
	addresses, err := net.InterfaceAddrs()
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range addresses {
		if n, ok := a.(*net.IPNet); ok && !n.IP.IsLoopback() && n.IP.To4() != nil {
			elsewhere = append(elsewhere, n.IP.String())
		}
	}
	for _, address := range elsewhere {
		if c, err := net.DialTimeout("tcp", net.JoinHostPort(address, port), time.Second); err == nil {
			c.Close()
			t.Errorf("it also listens at %s", address)
		}
	}
	number, err := strconv.Atoi(port)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Listen(number); err == nil || !strings.Contains(err.Error(), "port "+port+" of this computer: ") ||
		strings.Contains(err.Error(), "127.0.0.1") {
		t.Errorf("a port that is taken: %v", err)
	}
}

// The end of the context is the end of the server: what is under way is
// answered where it can be, and nobody who does not read is waited for.
func TestServerEnds(t *testing.T) {
	begun, proceed, broken := make(chan bool, 2), make(chan bool), make(chan error, 1)
	s, stop := started(t, impatient(), http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		begun <- true
		if r.URL.Path == "/large" {
			broken <- endless(w)
			return
		}
		<-proceed
		io.WriteString(w, "whole")
	}))
	ignored(t, s)
	answers := make(chan string, 1)
	go func() {
		response, err := http.Get(s.Address())
		if err != nil {
			answers <- err.Error()
			return
		}
		defer response.Body.Close()
		body, _ := io.ReadAll(response.Body)
		answers <- string(body)
	}()
	<-begun
	<-begun
	time.AfterFunc(100*time.Millisecond, func() { close(proceed) })
	begin := time.Now()
	if err := stop(); !errors.Is(err, context.Canceled) {
		t.Errorf("it ends with %v", err)
	}
	if took := time.Since(begin); took < s.bounds.ending || took > s.bounds.ending+time.Second {
		t.Errorf("it takes %v to end", took)
	}
	if err := <-broken; !errors.Is(err, net.ErrClosed) {
		t.Errorf("who did not read was answered until %v", err)
	}
	if got := <-answers; got != "whole" {
		t.Errorf("what was under way is answered with %q", got)
	}
	if c, err := net.Dial("tcp", s.host()); err == nil {
		c.Close()
		t.Error("it still listens")
	}
}

// A server whose port is gone says so.
func TestLostPort(t *testing.T) {
	s, err := Listen(0)
	if err != nil {
		t.Fatal(err)
	}
	s.listener.Close()
	if err := s.Serve(t.Context(), text("page")); !errors.Is(err, net.ErrClosed) {
		t.Errorf("got %v", err)
	}
}

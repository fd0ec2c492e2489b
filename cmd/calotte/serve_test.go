package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"calotte/render/page"
)

// served starts the server of a page and returns the address that it prints;
// stop ends it as Ctrl-C does.
func served(t *testing.T, args ...string) (address string, stop func() error) {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	t.Cleanup(cancel)
	reader, writer := io.Pipe()
	ended := make(chan error, 1)
	go func() {
		var errs bytes.Buffer
		err := run(ctx, append([]string{"explore", "--serve"}, args...), strings.NewReader(""), writer, &errs)
		writer.CloseWithError(err) // so that nobody waits for an address that does not come
		ended <- err
	}()
	line := make([]byte, 200)
	n, err := reader.Read(line)
	if err != nil {
		t.Fatal(err)
	}
	go io.Copy(io.Discard, reader)
	return strings.TrimSpace(string(line[:n])), func() error {
		cancel()
		return <-ended
	}
}

// getFrom asks for a page of an address.
func getFrom(t *testing.T, method, address string) (int, string) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
	defer cancel()
	request, err := http.NewRequestWithContext(ctx, method, address, nil)
	if err != nil {
		t.Fatal(err)
	}
	response, err := http.DefaultClient.Do(request)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	text, err := io.ReadAll(response.Body)
	if err != nil {
		t.Fatal(err)
	}
	return response.StatusCode, string(text)
}

// A served page is for who was told its address, and tells when its averages
// have changed.
func TestExploreServes(t *testing.T) {
	table := writeFile(t, filepath.Join(t.TempDir(), "own.tsv"), averageTable(tableHeader, wave))
	address, stop := served(t, table)
	get := func(path string) (int, string) {
		t.Helper()
		return getFrom(t, "GET", address+path)
	}
	if code, text := get(""); code != http.StatusOK || !strings.Contains(text, "connect-src &#39;self&#39;") {
		t.Errorf("the page: %d", code)
	}
	if code, text := getFrom(t, "HEAD", address); code != http.StatusOK || text != "" {
		t.Errorf("the page's header: %d, %q", code, text)
	}
	for _, method := range []string{"POST", "PUT", "DELETE"} {
		for _, path := range []string{"", "version"} {
			if code, _ := getFrom(t, method, address+path); code != http.StatusMethodNotAllowed {
				t.Errorf("%s of %q: %d", method, path, code)
			}
		}
	}
	own, err := url.Parse(address)
	if err != nil || own.Hostname() != "127.0.0.1" || len(own.Path) < 28 {
		t.Fatalf("the address is %s (%v)", address, err)
	}
	bare := "http://" + own.Host
	for _, path := range []string{"/", "/version", "/own.tsv", strings.ToLower(own.Path), own.Path + "own.tsv",
		own.Path + "%2e%2e/%2e%2e/etc/passwd"} {
		if code, text := getFrom(t, "GET", bare+path); code != http.StatusNotFound ||
			strings.Contains(text, "calotte") {
			t.Errorf("%s: %d %q", path, code, text)
		}
	}
	_, before := get("version")
	writeFile(t, table, averageTable(tableHeader, func(site, sample int) string { return fmt.Sprint(site + 1) }))
	if _, after := get("version"); after == before {
		t.Error("a changed average is not told")
	}
	_, text := get("")
	var study struct {
		Conditions []struct{ Values struct{ Data string } }
	}
	_, rest, _ := strings.Cut(text, `id="study">`)
	record, _, _ := strings.Cut(rest, "</script>")
	if err := json.Unmarshal([]byte(record), &study); err != nil {
		t.Fatal(err)
	}
	if len(study.Conditions) != 1 || len(study.Conditions[0].Values.Data) > 400 {
		t.Error("the page still shows the old average")
	}
	writeFile(t, table, "time\tCz\n0\tx\n")
	if code, text := get(""); code != http.StatusInternalServerError || !strings.Contains(text, "own.tsv") {
		t.Errorf("a broken average: %d %s", code, text)
	}
	writeFile(t, table, averageTable(tableHeader, wave))
	if code, _ := get(""); code != http.StatusOK {
		t.Errorf("a fixed average: %d", code)
	}
	if err := stop(); !errors.Is(err, context.Canceled) {
		t.Errorf("the server ended with %v", err)
	}
}

// Readers that never read a page keep nobody else from it.
func TestServedPastSlowReaders(t *testing.T) {
	address, _ := served(t, studied(t, t.TempDir(), someSites(t, 64))...)
	own, err := url.Parse(address)
	if err != nil {
		t.Fatal(err)
	}
	// Some pages fill what the system keeps for a reader.
	request := strings.Repeat(fmt.Sprintf("GET %s HTTP/1.1\r\nHost: %s\r\n\r\n", own.Path, own.Host), 8)
	for range 20 {
		c, err := net.Dial("tcp", own.Host)
		if err != nil {
			t.Fatal(err)
		}
		defer c.Close()
		c.(*net.TCPConn).SetReadBuffer(4096)
		io.WriteString(c, request)
	}
	time.Sleep(300 * time.Millisecond) // until they are answered as far as can be
	begin := time.Now()
	if code, _ := getFrom(t, "GET", address); code != http.StatusOK {
		t.Errorf("the page: %d", code)
	}
	if took := time.Since(begin); took > time.Second {
		t.Errorf("the page came after %v", took)
	} else {
		t.Logf("the page came after %v", took)
	}
}

// However many ask for a page while it is made, it is made once; and who asks
// whether it has changed does not wait for it.
func TestPageIsMadeOnce(t *testing.T) {
	const readers = 50
	var made atomic.Int64
	begun, proceed := make(chan bool, readers), make(chan bool)
	s := &pageServer{make: func() (*page.Study, []string, error) {
		made.Add(1)
		begun <- true
		<-proceed
		return nil, nil, errors.New("as far as this test goes")
	}}
	s.shown.Store(&shownPage{stamp: "of what has changed since"})
	h := s.handler()
	ask := func(path string) *httptest.ResponseRecorder {
		w := httptest.NewRecorder()
		h.ServeHTTP(w, httptest.NewRequest("GET", path, nil))
		return w
	}
	var all sync.WaitGroup
	for range readers {
		all.Go(func() {
			if w := ask("/"); w.Code != http.StatusInternalServerError ||
				!strings.Contains(w.Body.String(), "this test") {
				t.Errorf("got %d %q", w.Code, w.Body)
			}
		})
	}
	<-begun
	if w := ask("/version"); w.Code != http.StatusOK || strings.TrimSpace(w.Body.String()) != stampOf(nil) {
		t.Errorf("the stamp meanwhile: %d %q", w.Code, w.Body)
	}
	time.Sleep(100 * time.Millisecond) // until all of them have asked
	close(proceed)
	all.Wait()
	if n := made.Load(); n != 1 {
		t.Errorf("%d readers have the page made %d times", readers, n)
	}
}

// A port that is taken is said, and how to go on.
func TestServePortTaken(t *testing.T) {
	taken, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer taken.Close()
	_, port, err := net.SplitHostPort(taken.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	mistake{"", table("own.tsv", averageTable(tableHeader, wave)), "explore FILE --serve --port " + port,
		failed, []string{"port " + port + " of this computer", "--port"}}.check(t)
}

// In a browser, a served page tells when its averages have changed, shows them
// when asked, keeps what its address says, and asks nobody but its own server.
func TestServedPageInBrowser(t *testing.T) {
	table := writeFile(t, filepath.Join(t.TempDir(), "own.tsv"), averageTable(tableHeader, wave))
	address, stop := served(t, table)
	b := browse(t, address+"#at=100ms&site=Cz", 1000, 900)
	b.choose("view", "the left")
	state := ask[string](b, "location.hash")
	before := b.text("words")
	if !strings.Contains(state, "at=100ms") || !strings.Contains(state, "site=Cz") ||
		!strings.Contains(state, "view=left") {
		t.Fatalf("the address says %s", state)
	}
	if !ask[bool](b, `document.getElementById("fresh").hidden`) {
		t.Error("averages that have not changed are told to have")
	}
	writeFile(t, table, averageTable(tableHeader, func(site, sample int) string { return fmt.Sprint(site + 1) }))
	told := chromedp.Poll[bool](`!document.getElementById("fresh").hidden`)
	if _, err := chromedp.Run(b, told); err != nil {
		t.Fatalf("a changed average is not told: %v", err)
	}
	ask[bool](b, `(document.title = "the page before", document.getElementById("reload").click(), true)`)
	for end := time.Now().Add(20 * time.Second); ; time.Sleep(50 * time.Millisecond) {
		// Between two pages there is none to ask.
		if title, err := chromedp.Run(b,
			chromedp.Evaluate[string]("document.title")); err == nil && title != "the page before" {
			break
		} else if time.Now().After(end) {
			t.Fatalf("the page is not loaded again: %q (%v)", title, err)
		}
	}
	b.settle()
	if got := ask[string](b, "location.href"); got != address+state {
		t.Errorf("the address became %s, want %s", got, address+state)
	}
	after := b.text("words")
	if after == before || !strings.Contains(after, "Cz at 100 ms") {
		t.Errorf("the page says %q, and said %q", after, before)
	}
	if !ask[bool](b, `document.getElementById("fresh").hidden`) {
		t.Error("what was loaded is told to be old")
	}
	if n := ask[int](b, "document.cookie.length + localStorage.length + sessionStorage.length"); n != 0 {
		t.Error("the page keeps something in the browser")
	}
	b.quiet(address)
	if err := stop(); !errors.Is(err, context.Canceled) {
		t.Errorf("the server ended with %v", err)
	}

	// Whoever has the port next is not believed.
	own, err := url.Parse(address)
	if err != nil {
		t.Fatal(err)
	}
	listener, err := net.Listen("tcp", own.Host)
	if err != nil {
		t.Fatal(err)
	}
	asked := make(chan string, 2)
	another := &http.Server{Handler: http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		http.NotFound(w, r)
		select {
		case asked <- r.URL.Path:
		case <-b.Done(): // the test has ended
		}
	})}
	go another.Serve(listener)
	defer another.Close()
	for range 2 {
		select {
		case path := <-asked:
			if path != own.Path+"version" {
				t.Errorf("the page asks for %s", path)
			}
		case <-b.Done():
			t.Fatal("the page asks for nothing")
		}
	}
	if !ask[bool](b, `document.getElementById("fresh").hidden`) {
		t.Error("another server tells that averages have changed")
	}
}

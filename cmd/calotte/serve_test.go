package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"path/filepath"
	"strings"
	"testing"
)

// A served page is for this machine, and tells when its averages have changed.
func TestExploreServes(t *testing.T) {
	dir := t.TempDir()
	table := writeFile(t, filepath.Join(dir, "own.tsv"), averageTable(tableHeader, wave))
	ctx, stop := context.WithCancel(t.Context())
	reader, writer := io.Pipe()
	ended := make(chan error, 1)
	go func() {
		var errs bytes.Buffer
		ended <- run(ctx, []string{"explore", table, "--serve", "--port", "0"}, strings.NewReader(""), writer, &errs)
	}()
	line := make([]byte, 200)
	n, err := reader.Read(line)
	if err != nil {
		t.Fatal(err)
	}
	go io.Copy(io.Discard, reader)
	address := strings.TrimSpace(string(line[:n]))
	get := func(path, host string) (int, string) {
		t.Helper()
		request, err := http.NewRequestWithContext(t.Context(), "GET", address+path, nil)
		if err != nil {
			t.Fatal(err)
		}
		if host != "" {
			request.Host = host
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
	if code, text := get("/", ""); code != http.StatusOK || !strings.Contains(text, "connect-src &#39;self&#39;") {
		t.Errorf("the page: %d", code)
	}
	if code, _ := get("/", "elsewhere.example"); code != http.StatusForbidden {
		t.Errorf("by another name: %d", code)
	}
	_, before := get("/version", "")
	writeFile(t, table, averageTable(tableHeader, func(site, sample int) string { return fmt.Sprint(site + 1) }))
	if _, after := get("/version", ""); after == before {
		t.Error("a changed average is not told")
	}
	_, text := get("/", "")
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
	if code, text := get("/", ""); code != http.StatusInternalServerError || !strings.Contains(text, "own.tsv") {
		t.Errorf("a broken average: %d %s", code, text)
	}
	stop()
	if err := <-ended; !errors.Is(err, context.Canceled) {
		t.Errorf("the server ended with %v", err)
	}
}

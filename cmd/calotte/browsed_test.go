package main

import (
	"context"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"calotte/topo/measure"
)

// A browsed page is open in a browser that notes what it should not do.
type browsed struct {
	context.Context
	t *testing.T

	mutex    sync.Mutex
	said     []string // to the console
	requests []string
}

// browse opens a page, once for a test; it skips where there is no browser.
func browse(t *testing.T, url string, width, height int64) *browsed {
	t.Helper()
	if _, err := exec.LookPath("chromium"); err != nil {
		t.Skip("chromium is not installed")
	}
	ctx, cancel := chromedp.NewExecAllocator(t.Context(), append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath("chromium"), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("force-device-scale-factor", "1"))...)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewContext(ctx)
	t.Cleanup(cancel)
	ctx, cancel = context.WithTimeout(ctx, 2*time.Minute)
	t.Cleanup(cancel)
	b := &browsed{Context: ctx, t: t}
	messages := chromedp.Console(ctx)
	go func() {
		for m, err := range messages {
			if err != nil {
				return
			}
			b.mutex.Lock()
			b.said = append(b.said, m.String())
			b.mutex.Unlock()
		}
	}()
	err := chromedp.Listen(ctx, func(event any) {
		if e, ok := event.(*network.EventRequestWillBeSent); ok && !strings.HasPrefix(e.Request.URL, "data:") &&
			!strings.HasPrefix(e.Request.URL, "blob:") {
			b.mutex.Lock()
			b.requests = append(b.requests, e.Request.URL)
			b.mutex.Unlock()
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	b.do(chromedp.EmulateViewport(width, height), chromedp.Navigate(url))
	b.settle()
	return b
}

func (b *browsed) do(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	if err := chromedp.Do(b, steps...); err != nil {
		b.t.Fatal(err)
	}
}

// settle waits until the page has drawn and said what it shows.
func (b *browsed) settle() {
	b.t.Helper()
	if _, err := chromedp.Run(b,
		chromedp.Poll[bool](`document.getElementById("words").getAttribute("aria-busy") === "false"`)); err !=
		nil {
		b.t.Fatal(err)
	}
}

// ask evaluates an expression.
func ask[T any](b *browsed, expression string) T {
	b.t.Helper()
	v, err := chromedp.Run(b, chromedp.Evaluate[T](expression))
	if err != nil {
		b.t.Fatalf("%s: %v", expression, err)
	}
	return v
}

func (b *browsed) text(id string) string {
	b.t.Helper()
	return ask[string](b, fmt.Sprintf("document.getElementById(%q).textContent", id))
}

// choose sets a control as a person does.
func (b *browsed) choose(id, label string) {
	b.t.Helper()
	ok := ask[bool](b, fmt.Sprintf(`(() => { const s = document.getElementById(%q); const o = [...s.options].find((o) => o.textContent === %q); if (!o) return false; s.value = o.value; s.dispatchEvent(new Event("change")); return true; })()`, id, label))
	if !ok {
		b.t.Fatalf("%s has no choice %q", id, label)
	}
	b.settle()
}

// picture keeps what is on the screen for people to look at, where
// CALOTTE_SCREENSHOTS names a folder.
func (b *browsed) picture(name string) {
	b.t.Helper()
	folder := os.Getenv("CALOTTE_SCREENSHOTS")
	if folder == "" {
		return
	}
	picture, err := chromedp.Run(b, chromedp.FullScreenshot(100))
	if err == nil {
		err = os.WriteFile(filepath.Join(folder, name+".png"), picture, 0o666)
	}
	if err != nil {
		b.t.Fatal(err)
	}
}

// quiet checks that nothing went to the console, and no request but the page's
// own out.
func (b *browsed) quiet(own string) {
	b.t.Helper()
	b.mutex.Lock()
	defer b.mutex.Unlock()
	if len(b.said) > 0 {
		b.t.Errorf("the console says %q", b.said)
	}
	for _, r := range b.requests {
		if !strings.HasPrefix(r, own) {
			b.t.Errorf("the page asked for %s", r)
		}
	}
}

func fileURL(path string) string { return "file://" + path }

var firstNumber = regexp.MustCompile(`[−-]?\d+\.\d+`)

// readNumber finds the first number behind a text.
func readNumber(t *testing.T, text, behind string) float64 {
	t.Helper()
	_, rest, ok := strings.Cut(text, behind)
	found := firstNumber.FindString(rest)
	if !ok || found == "" {
		t.Fatalf("%q has no number behind %q", text, behind)
	}
	return number(t, strings.Replace(found, "−", "-", 1))
}

func (b *browsed) press(key string) {
	b.t.Helper()
	b.do(chromedp.KeyEvent(map[string]string{"ArrowRight": kb.ArrowRight, "ArrowLeft": kb.ArrowLeft,
		"Home": kb.Home,
		"End":  kb.End}[key]))
	b.settle()
}

// middle is the median, infinite of nothing.
func middle(list []float64) float64 {
	if len(list) == 0 {
		return math.Inf(1)
	}
	return measure.Median(list)
}

// saveAll presses buttons and returns what they saved, by the ends of the
// names.
func (b *browsed) saveAll(t *testing.T, buttons ...string) map[string]string {
	t.Helper()
	folder := t.TempDir()
	if _, err := chromedp.CallBrowser(b, browser.SetDownloadBehavior,
		browser.SetDownloadBehaviorParams{Behavior: "allow", DownloadPath: folder}); err != nil {
		t.Fatal(err)
	}
	saved := map[string]string{}
	for _, id := range buttons {
		ask[bool](b, fmt.Sprintf("(document.getElementById(%q).click(), true)", id))
		want := map[string]string{"svg": ".svg", "png": ".png", "numbers": "_values.tsv",
			"courses": "_waveforms.tsv"}[id]
		for range 100 {
			time.Sleep(50 * time.Millisecond)
			if files, _ := filepath.Glob(filepath.Join(folder, "*"+want)); len(files) == 1 {
				if text, err := os.ReadFile(files[0]); err == nil && len(text) > 0 {
					saved[want] = string(text)
					break
				}
			}
		}
		if saved[want] == "" {
			t.Errorf("%s saves nothing", id)
		}
	}
	return saved
}

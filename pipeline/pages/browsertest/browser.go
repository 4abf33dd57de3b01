//go:build browser

package browsertest

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"tracewheel/devices/needs"
)

// Browser is one window.
type Browser struct {
	t   testing.TB
	Ctx context.Context
	axe string
}

// Open starts a browser, with more of its options where a test needs them; axe is the file of axe-core.
func Open(t testing.TB, width int64, dark bool, axe string, more ...chromedp.ExecAllocatorOption) Browser {
	t.Helper()
	needs.Program(t, "chromium", "chromium")
	script, err := os.ReadFile(axe)
	if err != nil {
		t.Fatalf("axe-core is not there; run npm ci in .ci: %v", err)
	}
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.NoSandbox, chromedp.UserDataDir(t.TempDir()))
	opts = append(opts, more...)
	if dark {
		opts = append(opts, chromedp.Flag("blink-settings", "preferredColorScheme=0"))
	}
	ctx, end := chromedp.NewExecAllocator(t.Context(), opts...)
	t.Cleanup(end)
	ctx, end = chromedp.NewContext(ctx)
	t.Cleanup(end)
	ctx, end = context.WithTimeout(ctx, 8*time.Minute)
	t.Cleanup(end)
	if err := chromedp.Do(ctx); err != nil { // starts it: it lives as long as the context of its first run
		t.Fatal(err)
	}
	b := Browser{t, ctx, string(script)}
	b.Do(chromedp.EmulateViewport(width, 900))
	return b
}

// Tab opens one more tab of the browser, and Close closes one.
func (b Browser) Tab() Browser {
	b.t.Helper()
	ctx, end := chromedp.NewContext(b.Ctx)
	b.t.Cleanup(end)
	if err := chromedp.Do(ctx); err != nil {
		b.t.Fatal(err)
	}
	return Browser{b.t, ctx, b.axe}
}

// Close closes a tab as its user does.
func (b Browser) Close() {
	b.t.Helper()
	if err := chromedp.Do(b.Ctx, chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, page.Close, cdp.Empty{})
		return err
	})); err != nil {
		b.t.Fatal(err)
	}
}

// Before runs a script in each page that is opened from then on, before the page's own.
func (b Browser) Before(script string) {
	b.t.Helper()
	b.Do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: script})
		return err
	}))
}

// Ask has the page work out a text.
func (b Browser) Ask(script string) string {
	b.t.Helper()
	text, err := chromedp.Run(b.Ctx, chromedp.Evaluate[string](script, chromedp.EvalAwaitPromise))
	if err != nil {
		b.t.Fatalf("%s: %v", script, err)
	}
	return text
}

// Do carries steps out, within a minute.
func (b Browser) Do(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	ctx, end := context.WithTimeout(b.Ctx, time.Minute)
	defer end()
	if err := chromedp.Do(ctx, steps...); err != nil {
		b.t.Fatal(err)
	}
}

// Until waits for one of some texts in the page, for a minute.
func (b Browser) Until(what ...string) {
	b.t.Helper()
	for deadline := time.Now().Add(time.Minute); ; time.Sleep(100 * time.Millisecond) {
		text, err := chromedp.Run(b.Ctx, chromedp.Evaluate[string]("document.readyState === 'complete' && document.body ? document.body.innerText : ''"))
		if err == nil && slices.ContainsFunc(what, func(s string) bool { return strings.Contains(text, s) }) {
			return
		}
		if time.Now().After(deadline) {
			b.t.Fatalf("the page does not say %q (%v):\n%s", what, err, text)
		}
	}
}

// Shot keeps a picture of the page where TRACEWHEEL_SHOTS names a folder.
func (b Browser) Shot(name string) {
	b.t.Helper()
	dir := os.Getenv("TRACEWHEEL_SHOTS")
	if dir == "" {
		return
	}
	png, err := chromedp.Run(b.Ctx, chromedp.FullScreenshot(100))
	if err == nil {
		err = os.WriteFile(filepath.Join(dir, name+".png"), png, 0o600)
	}
	if err != nil {
		b.t.Fatal(err)
	}
}

// Look keeps what the window shows where TRACEWHEEL_SHOTS names a folder.
func (b Browser) Look(name string) {
	b.t.Helper()
	if os.Getenv("UPDATE") == "" {
		b.View(name)
	}
}

// View keeps what the window shows: for looking at where TRACEWHEEL_SHOTS names a folder, and with UPDATE set as a
// picture of the README, in testdata/pictures.
func (b Browser) View(name string) {
	b.t.Helper()
	for _, dir := range []string{os.Getenv("TRACEWHEEL_SHOTS"), map[bool]string{true: "../../testdata/pictures"}[os.Getenv("UPDATE") != ""]} {
		if dir == "" {
			continue
		}
		png, err := chromedp.Run(b.Ctx, chromedp.CaptureScreenshot())
		if err == nil {
			err = os.WriteFile(filepath.Join(dir, name+".png"), png, 0o644) //nolint:gosec // a picture for everybody
		}
		if err != nil {
			b.t.Fatal(err)
		}
	}
}

// Sound asks axe-core (Deque's rules for WCAG and good practice) about the page: nothing moderate, serious or
// critical, and no page wider than its window.
func (b Browser) Sound(name string) {
	b.t.Helper()
	b.Do(chromedp.Evaluate[chromedp.Void](b.axe))
	said, err := chromedp.Run(b.Ctx, chromedp.Evaluate[[]string](`axe.run().then(r => r.violations.filter(v => v.impact !== "minor").
		flatMap(v => v.nodes.map(n => v.impact + " " + v.id + ": " + n.html)).concat(
		document.documentElement.scrollWidth > innerWidth ? ["wider than the window: " + document.documentElement.scrollWidth] : []))`, chromedp.EvalAwaitPromise))
	if err != nil {
		b.t.Fatal(err)
	}
	for _, v := range said {
		b.t.Errorf("%s: %s", name, v)
	}
	b.Shot(name)
}

//go:build browser

package demo

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"tracewheel/config/samples"
	"tracewheel/pipeline/control"
)

// browser is Debian's Chromium at a demo's page.
type browser struct {
	t   *testing.T
	ctx context.Context
}

func openBrowser(t *testing.T, dark bool) browser {
	t.Helper()
	if _, err := exec.LookPath("chromium"); err != nil {
		t.Skip("chromium is not installed")
	}
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.NoSandbox, chromedp.UserDataDir(t.TempDir()))
	if dark {
		opts = append(opts, chromedp.Flag("blink-settings", "preferredColorScheme=0"))
	}
	ctx, end := chromedp.NewExecAllocator(t.Context(), opts...)
	t.Cleanup(end)
	ctx, end = chromedp.NewContext(ctx)
	t.Cleanup(end)
	ctx, end = context.WithTimeout(ctx, 4*time.Minute)
	t.Cleanup(end)
	if err := chromedp.Do(ctx); err != nil { // starts it: it lives as long as the context of its first run
		t.Fatal(err)
	}
	return browser{t, ctx}
}

func (b browser) do(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	ctx, end := context.WithTimeout(b.ctx, time.Minute)
	defer end()
	if err := chromedp.Do(ctx, steps...); err != nil {
		b.t.Fatal(err)
	}
}

// until waits for a text in the page.
func (b browser) until(what string) {
	b.t.Helper()
	for deadline := time.Now().Add(time.Minute); ; time.Sleep(100 * time.Millisecond) {
		text, err := chromedp.Run(b.ctx, chromedp.Evaluate[string]("document.body ? document.body.innerText : ''"))
		if err == nil && strings.Contains(text, what) {
			return
		}
		if time.Now().After(deadline) {
			b.t.Fatalf("the page does not say %q (%v):\n%s", what, err, text)
		}
	}
}

// shot keeps a picture of the page where TRACEWHEEL_SHOTS names a folder.
func (b browser) shot(name string) {
	b.t.Helper()
	dir := os.Getenv("TRACEWHEEL_SHOTS")
	if dir == "" {
		return
	}
	png, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
	if err == nil {
		err = os.WriteFile(filepath.Join(dir, name+".png"), png, 0o600)
	}
	if err != nil {
		b.t.Fatal(err)
	}
}

// sound asks axe-core (Deque's rules for WCAG and good practice) about the page: nothing moderate, serious or
// critical, and no page wider than its window.
func (b browser) sound(name string) {
	b.t.Helper()
	axe, err := os.ReadFile("../../.ci/node_modules/axe-core/axe.min.js")
	if err != nil {
		b.t.Fatalf("axe-core is not there; run npm ci in .ci: %v", err)
	}
	b.do(chromedp.Evaluate[chromedp.Void](string(axe)))
	said, err := chromedp.Run(b.ctx, chromedp.Evaluate[[]string](`axe.run().then(r => r.violations.filter(v => v.impact !== "minor").
		flatMap(v => v.nodes.map(n => v.impact + " " + v.id + ": " + n.html)).concat(
		document.documentElement.scrollWidth > innerWidth ? ["wider than the window: " + document.documentElement.scrollWidth] : []))`, chromedp.EvalAwaitPromise))
	if err != nil {
		b.t.Fatal(err)
	}
	for _, v := range said {
		b.t.Errorf("%s: %s", name, v)
	}
	b.shot(name)
}

// TestPageInTheBrowser is a person's way in a real browser: come in by the code, drop a draft, see what is to
// be mended, release a held cut, watch it to its end, cancel another.
func TestPageInTheBrowser(t *testing.T) {
	for _, width := range []int64{360, 1440} {
		t.Run(fmt.Sprint(width), func(t *testing.T) {
			b := openBrowser(t, width == 360)
			d, err := New(t.Context(), filepath.Join(t.TempDir(), "demo"), io.Discard)
			if err != nil {
				t.Fatal(err)
			}
			defer d.Stop() //nolint:errcheck // all was seen
			draft := filepath.Join(t.TempDir(), "usher-waistcoat.svg")
			cut := filepath.Join(t.TempDir(), "leaf-crown.svg")
			for _, file := range []string{draft, cut} {
				if err := os.WriteFile(file, samples.Read(filepath.Base(file)), 0o600); err != nil {
					t.Fatal(err)
				}
			}
			entrance := d.Entrance()
			address, _, _ := strings.Cut(entrance, "/enter")

			b.do(chromedp.EmulateViewport(width, 900), chromedp.Navigate(address+"/"))
			b.until("Come in with a code")
			b.sound(fmt.Sprintf("door-%d", width))
			b.do(chromedp.Navigate(entrance), chromedp.Click(chromedp.CSS("main button")))
			b.until("No jobs yet")

			drop := func(device, file string) {
				b.do(chromedp.Navigate(address+"/drop"), chromedp.SetValue(chromedp.CSS("#device"), device),
					chromedp.SetUploadFiles(chromedp.CSS("#draft"), []string{file}), chromedp.Click(chromedp.CSS("main form > button")))
				b.until("lies in the folder of " + device)
			}
			drop(demoPlotter, draft)
			drop(demoCutter, cut)
			b.do(chromedp.Navigate(address + "/"))
			b.until("refused") // without loading again
			b.until("waiting for release")
			b.sound(fmt.Sprintf("board-%d", width))

			b.do(chromedp.Navigate(address + "/job/1"))
			b.until("the allowance shrinks")
			b.sound(fmt.Sprintf("refused-%d", width))

			b.do(chromedp.Navigate(address + "/job/2"))
			b.until("its jobs are released at the machine")
			b.sound(fmt.Sprintf("held-%d", width))
			client, err := control.Dial(t.Context(), d.Room().Path(d.Room().Folders.Store))
			if err != nil {
				t.Fatal(err)
			}
			defer client.Close() //nolint:errcheck // only asked
			code, err := client.Page(t.Context(), true)
			if err != nil {
				t.Fatal(err)
			}
			b.do(chromedp.Click(chromedp.CSS("summary")), chromedp.SendKeys(chromedp.CSS("#pair"), code+"\r"))
			b.until("Release")
			b.do(chromedp.Click(chromedp.CSS("input[name=said]")), chromedp.Click(chromedp.CSS(".choice button")))
			b.until("running")
			b.sound(fmt.Sprintf("running-%d", width))
			b.until("done")

			drop(demoCutter, cut)
			b.do(chromedp.Navigate(address + "/"))
			b.until("waiting for release")
			b.do(chromedp.Navigate(address + "/job/3"))
			b.until("Cancel 3")
			b.do(chromedp.Click(chromedp.CSS("footer button.stop")))
			b.until("canceled")
			for _, page := range []string{"drop", "past", "browsers", "device/knife-table"} {
				b.do(chromedp.Navigate(address + "/" + page))
				b.sound(fmt.Sprintf("%s-%d", strings.ReplaceAll(page, "/", "-"), width))
			}
		})
	}
}

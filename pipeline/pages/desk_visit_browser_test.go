//go:build browser

package pages_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"tracewheel/pipeline/making"
	"tracewheel/pipeline/pages"
	"tracewheel/pipeline/pages/browsertest"
)

// visit is a browser at a desk that runs by itself.
type visit struct {
	browsertest.Browser
	t       testing.TB
	drafts  string
	cards   string
	address string
	stop    func()
}

func openDesk(t testing.TB, width int64, host string, dark bool) visit {
	t.Helper()
	room := *making.Sample()
	room.Dir = t.TempDir()
	shown, _, err := pages.Desk(pages.DeskOptions{Room: &room, Host: host, Home: func() (string, error) { return "127.0.0.1", nil }, End: func() {}})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = shown.Stop(t.Context()) }) // all was seen
	b := browsertest.Open(t, width, dark, "../../.ci/node_modules/axe-core/axe.min.js")
	entrance := shown.Entrance()
	address, _, _ := strings.Cut(entrance, "/enter")
	b.Do(chromedp.Navigate(entrance), chromedp.Click(chromedp.CSS("main button")))
	b.Until("Begin with a garment")
	return visit{b, t, filepath.Join(room.Dir, "drafts"), room.Path("cards"), address, func() { _ = shown.Stop(t.Context()) }}
}

// told asks the page for a text.
func (v visit) told(script string) string {
	v.t.Helper()
	text, err := chromedp.Run(v.Ctx, chromedp.Evaluate[string](script, chromedp.EvalAwaitPromise))
	if err != nil {
		v.t.Fatal(err)
	}
	return text
}

// act runs a script in the page.
func (v visit) act(script string) { v.t.Helper(); v.Do(chromedp.Evaluate[chromedp.Void](script)) }

// until waits for a script to give true, for a minute. While a page gives way to the next no script is answered.
func (v visit) until(script string) {
	v.t.Helper()
	for deadline := time.Now().Add(time.Minute); ; time.Sleep(100 * time.Millisecond) {
		said, err := chromedp.Run(v.Ctx, chromedp.Evaluate[string]("String("+script+")", chromedp.EvalAwaitPromise))
		if err == nil && said == "true" {
			return
		}
		if time.Now().After(deadline) {
			v.t.Fatalf("never %s (%v); the page:\n%s", script, err, v.told("document.body.innerText"))
		}
	}
}

// leaves answers the browser's question whether to leave the page with yes, as a person does.
func (v visit) leaves() {
	asked := chromedp.Events(v.Ctx, page.JavascriptDialogOpening)
	go func() {
		for _, err := range asked {
			if err != nil {
				return
			}
			_, _ = chromedp.Call(v.Ctx, page.HandleJavaScriptDialog, page.HandleJavaScriptDialogParams{Accept: true}) // else the navigation fails
		}
	}()
}

func (v visit) file(name string) string {
	v.t.Helper()
	data, err := os.ReadFile(filepath.Join(v.drafts, name))
	if err != nil {
		v.t.Fatal(err)
	}
	return string(data)
}

//go:build browser

package pages_test

import (
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"tracewheel/pipeline/making"
	"tracewheel/pipeline/pages"
	"tracewheel/pipeline/pages/browsertest"
)

// TestDeskInTheBrowser is a dressmaker's way without a terminal: choose a starter, give a measure, see the
// pieces change, make a slip and see where it is, save, keep a card, get sheets.
func TestDeskInTheBrowser(t *testing.T) {
	for _, width := range []int64{360, 1440} {
		t.Run(fmt.Sprint(width), func(t *testing.T) {
			room := *making.Sample()
			room.Dir = t.TempDir()
			drafts := filepath.Join(room.Dir, "drafts")
			shown, _, err := pages.Desk(&room, "")
			if err != nil {
				t.Fatal(err)
			}
			defer shown.Stop(t.Context()) //nolint:errcheck // all was seen
			b := browsertest.Open(t, width, width == 1440, "../../.ci/node_modules/axe-core/axe.min.js")
			entrance := shown.Entrance()
			address, _, _ := strings.Cut(entrance, "/enter")
			b.Do(chromedp.Navigate(entrance), chromedp.Click(chromedp.CSS("main button")))
			b.Until("Begin with a garment")
			b.Sound(fmt.Sprintf("shelf-%d", width))
			b.Do(chromedp.Click(chromedp.CSS(`[aria-label="Draw this: Ferry-hand's smock"]`)))
			b.Until("Measures, cm")
			b.Until("7 pieces")
			b.Sound(fmt.Sprintf("desk-%d", width))

			picture := func() string {
				text, err := chromedp.Run(b.Ctx, chromedp.Evaluate[string]("document.querySelector('#picture').innerHTML"))
				if err != nil {
					t.Fatal(err)
				}
				return text
			}
			before := picture()
			b.Do(chromedp.Evaluate[chromedp.Void]("document.querySelector('[data-measure=bust]').select()"), chromedp.KeyEvent("104"))
			for range 600 {
				if picture() != before {
					break
				}
				b.Do(chromedp.Sleep(100e6))
			}
			if picture() == before {
				t.Error("the pieces do not follow the bust")
			}

			write := func(line string) {
				b.Do(chromedp.Evaluate[chromedp.Void](fmt.Sprintf("{ const e = document.querySelector('#text'); e.value = %q; e.dispatchEvent(new Event('input')) }",
					strings.Replace(text(t, drafts), "P: from O down 4", line, 1))))
			}
			write("P: from O dwon 4")
			b.Until("dwon")
			b.Sound(fmt.Sprintf("slip-%d", width))
			write("P: from O down 5")
			b.Until("7 pieces")
			b.Do(chromedp.Click(chromedp.CSS(`[name=do][value=save]`)))
			b.Until("Saved.")
			if !strings.Contains(text(t, drafts), "P: from O down 5") {
				t.Error("what was saved is not in the file")
			}
			if old, err := filepath.Glob(filepath.Join(drafts, ".versions", "*")); err != nil || len(old) != 1 {
				t.Errorf("old versions: %v %v", old, err)
			}
			b.Do(chromedp.Evaluate[chromedp.Void]("document.querySelector('#card').select()"), chromedp.KeyEvent("harbour 1"), chromedp.Click(chromedp.CSS(`[name=do][value=card]`)))
			b.Until("The measure card is kept.")
			pdf, err := chromedp.Run(b.Ctx, chromedp.Evaluate[string](fmt.Sprintf(`fetch(%q).then(r => r.text()).then(t => t.startsWith("%%PDF-") ? "a PDF" : t)`,
				address+"/desk/draft/ferry-smock/sheets?paper=a4&body="+url.QueryEscape("harbour 1")), chromedp.EvalAwaitPromise))
			if err != nil || pdf != "a PDF" {
				t.Errorf("the sheets are %s: %v", pdf, err)
			}
		})
	}
}

func text(t *testing.T, drafts string) string {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(drafts, "ferry-smock.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

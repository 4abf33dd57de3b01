//go:build browser && linux

package pages_test

import (
	"fmt"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"

	"tracewheel/config/samples"
	"tracewheel/pipeline/ledger"
)

// TestBoardIsSoundInTheBrowser: each page of the board, with what it shows when there is much to show, at 360 px dark and
// 1440 px light; board, job and device the other way round too.
func TestBoardIsSoundInTheBrowser(t *testing.T) {
	r := newShownWith(t, nil, nil, func(dir string) error { return lastMonth(t.Context(), dir) })
	r.drop("office-printer", "apron.svg", samples.Read("stagehand-apron.svg"), "production: Harbour lights\nwearer: Ottilie\ndue: 2026-03-20\n")
	r.until(2, "done", func(j ledger.Job) bool { return j.State == ledger.Completed })
	r.drop("roll-plotter", "smock.yaml", bodiless(), "wearer: Ottilie\n")
	r.until(3, "asking", func(j ledger.Job) bool { return j.Asks != "" })
	r.drop("knife-table", "leaf-crown.svg", samples.Read("leaf-crown.svg"), "")
	r.until(4, "made", made)
	const table = "/device/knife-table"
	for _, form := range []url.Values{{"do": {"add"}, "material": {"calico"}, "length": {"5m"}}, {"do": {"add"}, "material": {"calico"}, "length": {"90cm"}, "width": {"60cm"}, "new": {"yes"}}} {
		if status, page := r.postSeen(table, table+"/stock", form); status != http.StatusOK {
			t.Fatalf("no stock is kept: %d\n%s", status, page)
		}
	}
	file := filepath.Join(t.TempDir(), "leaf-crown.svg")
	if err := os.WriteFile(file, samples.Read("leaf-crown.svg"), 0o600); err != nil {
		t.Fatal(err)
	}
	dropped := int64(4)
	for _, as := range []struct {
		width int64
		dark  bool
	}{{360, false}, {360, true}, {1440, false}, {1440, true}} {
		called := func(page string) string {
			return fmt.Sprintf("%s-%d-%s", page, as.width, map[bool]string{false: "light", true: "dark"}[as.dark])
		}
		v := openBoard(t, r, as.width, as.dark)
		if got := v.told("String(matchMedia('(prefers-color-scheme: dark)').matches)"); got != fmt.Sprint(as.dark) {
			t.Fatalf("dark is %s", got)
		}
		pages := []struct{ name, path, says string }{
			{"list", "/", "Leaf crown"}, {"waiting", "/job/4", "its jobs are released at the machine"}, {"stock", table, "remnant 1"},
			{"ticks", "/job/2", "Keep what is ticked"}, {"asking", "/job/3", "Body, or a measure card"}, {"past", "/past?style=apron", "2 jobs"}, {"production", "/production?name=Harbour+lights", "Ottilie"}, {"productions", "/production", "Harbour lights"},
			{"settings", "/settings", "Name in the file"}, {"drop-form", "/drop", "Drop drafts"}, {"browsers-list", "/browsers", "Your name"},
		}
		if whole := as.dark == (as.width == 360); !whole { // colours and widths are the style sheet's, and of all pages alike
			pages = pages[:3]
		}
		for _, p := range pages {
			v.Do(chromedp.Navigate(r.address + p.path))
			v.Until(p.says)
			v.act(`for (const d of document.querySelectorAll("details")) d.open = true`)
			v.Sound(called(p.name))
		}
		if len(pages) == 3 {
			continue
		}
		v.Do(chromedp.Navigate(r.address + "/job/2"))
		v.act(`{ const f = document.createElement("form"); f.method = "post"; f.action = "/job/2/pause"; document.body.append(f); f.submit() }`)
		v.Until("Not done")
		v.Sound(called("not-done"))
		v.Do(chromedp.Navigate(r.address+"/drop"), chromedp.SetValue(chromedp.CSS("#device"), "desk-plotter"),
			chromedp.SetUploadFiles(chromedp.CSS("#draft"), []string{file}), chromedp.Click(chromedp.CSS("main form > button")))
		v.Until("lies in the folder of desk-plotter")
		v.Sound(called("dropped"))
		dropped++
		r.until(dropped, "made", made) // no page changes by it while the next ones are judged
	}
}

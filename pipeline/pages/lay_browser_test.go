//go:build browser

package pages_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"

	"tracewheel/config/samples"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pages/browsertest"
)

// TestLayInTheBrowser is a person's way from two drafts to their cloth: drop both at once as one job, and look at it.
func TestLayInTheBrowser(t *testing.T) {
	for _, width := range []int64{360, 1440} {
		t.Run(fmt.Sprint(width), func(t *testing.T) {
			r := newShown(t, nil)
			b := browsertest.Open(t, width, width == 360, "../../.ci/node_modules/axe-core/axe.min.js")
			b.Do(chromedp.Navigate(r.pages.Entrance()), chromedp.Click(chromedp.CSS("main button")))
			b.Until("No jobs yet")
			var files []string
			for _, name := range []string{"section-cap.yaml", "leaf-crown.svg"} {
				file := filepath.Join(t.TempDir(), name)
				if err := os.WriteFile(file, samples.Read(name), 0o600); err != nil {
					t.Fatal(err)
				}
				files = append(files, file)
			}
			shot := func(name string) { b.Sound(fmt.Sprintf("%s-%d", name, width)) }

			b.Do(chromedp.Navigate(r.address+"/drop"), chromedp.SetValue(chromedp.CSS("#device"), "knife-table"),
				chromedp.SetUploadFiles(chromedp.CSS("#draft"), files), chromedp.Click(chromedp.CSS("input[value=one]")))
			b.Until("Chosen: section-cap.yaml, leaf-crown.svg (")
			shot("drop-several")
			b.Do(chromedp.Click(chromedp.CSS("main form > button")))
			b.Until("are taken as one job in a moment")
			shot("dropped-several")
			j := r.until(1, "held with both", func(j ledger.Job) bool { return j.State == ledger.Held && j.Ready })
			if j.File != "section-cap.yaml" || j.Ticket == "" {
				t.Errorf("%+v", j)
			}
			b.Do(chromedp.Navigate(r.address + "/job/1"))
			b.Until("Comes to") // the numbers of the measured one
			shot("job-numbers")
			b.Do(chromedp.Click(chromedp.CSS("a[href='/job/1/lay']")))
			b.Until("Its sum begins " + j.Lay[:12])
			b.Until("Cloth to buy, laid by hand")
			shot("lay")
			b.Do(chromedp.SetValue(chromedp.CSS("#width"), "90cm"), chromedp.Click(chromedp.CSS("main form[method=get] button")))
			b.Until("Tried: 900 mm wide")
			shot("lay-tried")
			b.Do(chromedp.Click(chromedp.CSS("form[action='/job/1/better'] button")))
			b.Until("sought for ")
			b.Until("the shortest so far takes", "Seek a better lay")
			shot("lay-sought")
			b.Do(chromedp.Navigate(r.address + "/past"))
			b.Until("1 job")
			shot("past-one")
			if hidden, err := chromedp.Run(b.Ctx, chromedp.Evaluate[bool](`(s => s.scrollWidth > s.clientWidth)(document.querySelector(".scroll"))`)); err != nil || hidden {
				t.Errorf("a part of the table of past jobs lies outside its window: %v", err)
			}
		})
	}
}

//go:build browser

package demo

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"tracewheel/config/samples"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/remote"
	"tracewheel/pipeline/pages/browsertest"
)

// TestPageInTheBrowser is a person's way in a real browser: come in by the code, drop a draft, see what is to
// be mended, release a held cut, watch it to its end, cancel another.
func TestPageInTheBrowser(t *testing.T) {
	for _, width := range []int64{360, 1440} {
		t.Run(fmt.Sprint(width), func(t *testing.T) {
			b := browsertest.Open(t, width, width == 360, "../../.ci/node_modules/axe-core/axe.min.js")
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

			b.Do(chromedp.Navigate(address + "/"))
			b.Until("Come in with a code")
			b.Sound(fmt.Sprintf("door-%d", width))
			b.Do(chromedp.Navigate(entrance), chromedp.Click(chromedp.CSS("main button")))
			b.Until("No jobs yet")

			drop := func(device, file string) {
				b.Do(chromedp.Navigate(address+"/drop"), chromedp.SetValue(chromedp.CSS("#device"), device),
					chromedp.SetUploadFiles(chromedp.CSS("#draft"), []string{file}), chromedp.Click(chromedp.CSS("main form > button")))
				b.Until("lies in the folder of " + device)
			}
			drop(demoPlotter, draft)
			drop(demoCutter, cut)
			b.Do(chromedp.Navigate(address + "/"))
			b.Until("refused") // without loading again
			b.Until("waiting for release")
			b.Sound(fmt.Sprintf("board-%d", width))
			if width == 1440 {
				b.View("board-1440")
			}

			b.Do(chromedp.Navigate(address + "/job/1"))
			b.Until("the allowance shrinks")
			b.Sound(fmt.Sprintf("refused-%d", width))
			if width == 360 {
				b.View("refused-360")
			}

			b.Do(chromedp.Navigate(address + "/job/2"))
			b.Until("its jobs are released at the machine")
			b.Sound(fmt.Sprintf("held-%d", width))
			client, err := remote.Dial(t.Context(), d.Room().Path(d.Room().Folders.Store))
			if err != nil {
				t.Fatal(err)
			}
			defer client.Close() //nolint:errcheck // only asked
			code, err := client.Page(t.Context(), control.PagePair, 0)
			if err != nil {
				t.Fatal(err)
			}
			b.Do(chromedp.Click(chromedp.CSS("summary")), chromedp.SendKeys(chromedp.CSS("#pair"), code+"\r"))
			b.Until("Release")
			b.Do(chromedp.Click(chromedp.CSS("input[name=said]")), chromedp.Click(chromedp.CSS(".choice button")))
			b.Until("running", "done") // on a busy machine the second of cutting may pass unseen
			b.Sound(fmt.Sprintf("running-%d", width))
			b.Until("done")

			drop(demoCutter, cut)
			b.Do(chromedp.Navigate(address + "/"))
			b.Until("waiting for release")
			b.Do(chromedp.Navigate(address + "/job/3"))
			b.Until("Cancel 3")
			b.Do(chromedp.Click(chromedp.CSS("footer button.stop")))
			b.Until("canceled")
			b.Do(chromedp.Navigate(address+"/device/"+demoPlotter), chromedp.SetValue(chromedp.CSS("#size"), "300mm"), chromedp.Click(chromedp.CSS("form[action*='/plot'] button")))
			b.Until("test square 1 of " + demoPlotter)
			b.Do(chromedp.SendKeys(chromedp.CSS("#r-1-bottom"), "36"))
			b.Until("nowhere near") // as it is typed
			b.Sound(fmt.Sprintf("square-slip-%d", width))
			for side, read := range map[string]string{"bottom": "300.5", "right": "300", "top": "300.5", "left": "300", "rising": "424.5", "falling": "424.5"} {
				b.Do(chromedp.SetValue(chromedp.CSS("#r-1-"+side), read))
			}
			b.Do(chromedp.Click(chromedp.CSS("input[name=yes]")), chromedp.Click(chromedp.CSS("button[value=record]")))
			b.Until("calibration 1 of " + demoPlotter + " is in force")
			b.Sound(fmt.Sprintf("square-recorded-%d", width))
			for _, page := range []string{"drop", "past", "browsers", "device/knife-table"} {
				b.Do(chromedp.Navigate(address + "/" + page))
				b.Sound(fmt.Sprintf("%s-%d", strings.ReplaceAll(page, "/", "-"), width))
			}
		})
	}
}

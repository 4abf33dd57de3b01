//go:build browser

package demo

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/asker"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pages/browsertest"
)

// tabs is a draft whose cut takes the pretend cutter some seconds.
const tabs = `<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="300mm" viewBox="0 0 400 300"><g data-piece="tab" data-quantity="60"><path class="cut" d="M0 0H80L90 10L80 20L90 30L80 40L90 50L80 60H0Z"/><path class="grain" d="M20 30H60"/></g>
<g data-piece="pocket" data-quantity="30"><path class="cut" d="M0 100H100V180H60L50 190L40 180H0Z"/><path class="grain" d="M20 130H60"/></g></svg>`

// TestProgressInTheBrowser: while the pretend cutter cuts, the picture shows what is made, what is sent and what is to come,
// and where the tool is, and follows; paused it keeps that, also loaded anew and without scripts.
func TestProgressInTheBrowser(t *testing.T) {
	for _, width := range []int64{360, 1440} {
		t.Run(fmt.Sprint(width), func(t *testing.T) {
			b := browsertest.Open(t, width, width == 1440, "../../.ci/node_modules/axe-core/axe.min.js")
			d, err := New(t.Context(), filepath.Join(t.TempDir(), "demo"), io.Discard)
			if err != nil {
				t.Fatal(err)
			}
			defer d.Stop() //nolint:errcheck // all was seen
			told, until := asked(t, b)
			inbox := filepath.Join(d.room.Path(d.room.Folders.Inbox), demoCutter)
			if err := os.WriteFile(filepath.Join(inbox, "tabs.svg.ticket.yaml"), []byte("allowance: included\n"), 0o600); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(filepath.Join(inbox, "tabs.svg"), []byte(tabs), 0o600); err != nil {
				t.Fatal(err)
			}
			for deadline := time.Now().Add(time.Minute); ; time.Sleep(50 * time.Millisecond) {
				if j, err := d.shop.Jobs().Job(t.Context(), 1); err == nil && j.Ready {
					break
				} else if time.Now().After(deadline) {
					t.Fatalf("never made: %+v, %v", j, err)
				}
			}
			entrance := d.Entrance()
			address, _, _ := strings.Cut(entrance, "/enter")
			b.Do(chromedp.Navigate(entrance), chromedp.Click(chromedp.CSS("main button")))
			b.Until("Jobs")
			b.Do(chromedp.Navigate(address + "/job/1"))
			until("document.querySelectorAll('svg.over .piece').length === 90")
			if told("String(document.querySelector('.over .drawn, .over .sent, .over .tool') === null)") != "true" {
				t.Error("before it is released something is drawn as made")
			}
			if err := d.shop.Jobs().Release(asker.ByDemo(t.Context()), 1, nil, control.BedClear); err != nil {
				t.Fatal(err)
			}
			until("document.querySelectorAll('.over .drawn, .over .sent').length > 5 && document.querySelectorAll('.over .come').length > 5 && document.querySelector('.over .tool') !== null")
			many := func() int {
				n, err := strconv.Atoi(told("String(document.querySelectorAll('.over .drawn, .over .sent').length)"))
				if err != nil {
					t.Fatal(err)
				}
				return n
			}
			was, ring := many(), told("document.querySelector('.over .tool').getAttribute('transform')")
			until(fmt.Sprintf("document.querySelectorAll('.over .drawn, .over .sent').length > %d && document.querySelector('.over .tool').getAttribute('transform') !== '%s'", was, ring)) // by the stream, no page is loaded
			if err := d.shop.Jobs().Pause(t.Context(), 1); err != nil {
				t.Fatal(err)
			}
			until("document.querySelector('.state').textContent.includes('paused') || document.querySelector('.state').textContent.includes('stopped')")
			until("/not begun: \\d+ \\(/.test(document.querySelector('[data-far]').textContent.replace(/\\s+/g, ' '))")
			b.Sound(fmt.Sprintf("progress-%d", width))
			b.Do(chromedp.Evaluate[chromedp.Void](`document.querySelector("#picture").scrollIntoView()`))
			if b.Look(fmt.Sprintf("progress-view-%d", width)); width == 1440 {
				b.View("progress-1440")
			}

			// Loaded anew it shows at least what it showed, and what a page without scripts shows is the same picture.
			was = many()
			b.Do(chromedp.Navigate(address + "/job/1"))
			until(fmt.Sprintf("document.querySelectorAll('svg.over .drawn, svg.over .sent').length >= %d && document.querySelectorAll('svg.over .come').length > 0", was))
			if told(`fetch(location.href).then(r => r.text()).then(t => String(/<img class="over" src="\/job\/1\/over[^"]*"/.test(t) && t.includes("surely made")))`) != "true" {
				t.Error("without scripts nothing tells how far it is")
			}
			// What is called sent was sent, and what is called made is surely made: the sender's own count of strokes is not below it.
			for _, p := range d.shop.Jobs().Now() {
				if n := many(); n > p.Sent+1 {
					t.Errorf("%d strokes are shown as sent, and %d are", n, p.Sent+1)
				}
				if made := told("String(document.querySelectorAll('.over .drawn').length)"); made != strconv.Itoa(p.Sure+1) {
					t.Errorf("%s strokes are shown as made, and %d surely are", made, p.Sure+1)
				}
			}
			if err := d.shop.Jobs().Cancel(t.Context(), 1); err != nil {
				t.Fatal(err)
			}
			until("document.querySelector('.state').textContent.includes('cancel')")
			j, err := d.shop.Jobs().Job(t.Context(), 1)
			if err != nil || j.State != ledger.Canceled {
				t.Errorf("%+v, %v", j, err)
			}
			until("document.querySelectorAll('[data-choose] input').length === 90 && document.querySelectorAll('svg.over .drawn, svg.over .sent').length > 0")
		})
	}
}

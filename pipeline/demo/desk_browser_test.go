//go:build browser

package demo

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"tracewheel/config/samples"
	"tracewheel/devices/hpgl"
	"tracewheel/pipeline/pages/browsertest"
)

// TestDeskToPlotterInTheBrowser goes by keys alone from the shelf to the pretend plotter: a starter, a measure and its
// card, two bodies, a slip and the offered word, a save, a fitting, and the sending with its ticket, which the plotter draws and
// to which the page leads.
func TestDeskToPlotterInTheBrowser(t *testing.T) {
	for _, width := range []int64{360, 1440} {
		t.Run(fmt.Sprint(width), func(t *testing.T) { deskToPlotter(t, width) })
	}
}

func deskToPlotter(t *testing.T, width int64) {
	b := browsertest.Open(t, width, width == 360, "../../.ci/node_modules/axe-core/axe.min.js")
	d, err := New(t.Context(), filepath.Join(t.TempDir(), "demo"), io.Discard)
	if err != nil {
		t.Fatal(err)
	}
	defer d.Stop() //nolint:errcheck // all was seen
	told, until := asked(t, b)
	press := func(keys ...string) {
		t.Helper()
		for _, key := range keys {
			b.Do(chromedp.KeyEvent(key))
		}
	}
	tabTo := func(script string) {
		t.Helper()
		for range 120 {
			if told("String(("+script+")(document.activeElement))") == "true" {
				return
			}
			press(kb.Tab)
		}
		t.Fatalf("Tab never comes to %s", script)
	}
	address, _, _ := strings.Cut(d.Entrance(), "/enter")
	b.Do(chromedp.Navigate(d.Entrance()), chromedp.Click(chromedp.CSS("main button")))
	b.Until("No jobs yet")
	b.Do(chromedp.Navigate(address + "/desk"))
	b.Until("Begin with a garment")

	tabTo(`e => e.getAttribute("aria-label") === "Draw this: Ferry-hand's smock"`)
	press(kb.Enter)
	b.Until("7 pieces")
	tabTo(`e => e.dataset.measure === "bust"`)
	press("104") // Tab selects what stands in a field
	until(`document.querySelector("#changed").textContent.includes("quarter 30, was 27")`)
	tabTo(`e => e.id === "card"`)
	press("harbour 1", kb.Tab, kb.Enter)
	b.Until("The measure card is kept.")

	tabTo(`e => e.id === "with"`)
	press("body B")
	until(`document.querySelector("#with").value === "B" && document.querySelectorAll("#picture path.before").length > 0 && document.querySelector("#changed").textContent.includes("hip")`)

	before, _, _ := strings.Cut(string(samples.Read("ferry-smock.yaml")), "P: from O down 4")
	tabTo(`e => e.id === "text"`)
	until(`document.activeElement.selectionStart === 0`)
	for range strings.Count(before, "\n") {
		press(kb.ArrowDown)
	}
	press(kb.Home)
	for range "  P: from O down" {
		press(kb.ArrowRight)
	}
	press(kb.Backspace, kb.Backspace, kb.Backspace, "won")
	until(`document.querySelector("#text").value.includes("  P: from O dwon 4") && [...document.querySelectorAll("#faults button")].some(b => b.textContent.startsWith("Write"))`)
	tabTo(`e => e.textContent.startsWith("Write") && e.closest("#faults") !== null`)
	press(kb.Enter)
	until(`document.querySelector("#text").value.includes("  P: from O down 4") && document.querySelector("#count").innerText === "7 pieces"`)

	tabTo(`e => e.value === "save"`)
	press(kb.Enter)
	b.Until("Saved.")
	tabTo(`e => e.id === "fit-name"`)
	press("slit", kb.Tab, "1.5", kb.Tab, kb.Tab, "sticks at the ears", kb.Tab, kb.Tab, kb.Enter) // past "this garment"
	b.Until("slit 1.5 more, sticks at the ears")

	tabTo(`e => e.id === "to"`)
	press(demoPlotter)
	until(fmt.Sprintf(`document.querySelector("#to").value === %q && document.querySelector("[action$='/send'] [name=say-body]").value === "harbour 1"`, demoPlotter))
	tabTo(`e => e.localName === "summary" && e.closest(".send") !== null`)
	press(kb.Enter)
	tabTo(`e => e.id === "say-production"`)
	press("Harbour lights")
	tabTo(`e => e.textContent === "Send"`)
	press(kb.Enter)
	until(`document.querySelector("#sent a") !== null && document.querySelector("#sent a").innerText.startsWith("Job 1 on the workroom's page")`) // without loading again
	b.Sound(fmt.Sprintf("sent-%d", width))
	tabTo(`e => e.closest("#sent") !== null`)
	press(kb.Enter)
	b.Until("Harbour lights") // as its ticket says
	until(`document.body.innerText.includes("done")`)
	plot, err := hpgl.Read(d.plotter.Received(), hpgl.OptionsFor(d.room.Devices[demoPlotter].Profile))
	if err != nil || len(plot.Traces) == 0 {
		t.Errorf("the plotter drew %d lines: %v", len(plot.Traces), err)
	}
}

// asked gives what a script in the page comes to, and waits until one is true.
func asked(t *testing.T, b browsertest.Browser) (told func(script string) string, until func(script string)) {
	t.Helper()
	told = func(script string) string {
		t.Helper()
		text, err := chromedp.Run(b.Ctx, chromedp.Evaluate[string](script, chromedp.EvalAwaitPromise))
		if err != nil {
			t.Fatal(err)
		}
		return text
	}
	return told, func(script string) {
		t.Helper()
		for deadline := time.Now().Add(time.Minute); told("String("+script+")") != "true"; time.Sleep(50 * time.Millisecond) {
			if time.Now().After(deadline) {
				t.Fatalf("never %s; the page:\n%s", script, told("document.body.innerText"))
			}
		}
	}
}

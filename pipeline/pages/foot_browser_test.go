//go:build browser && linux

package pages_test

import (
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// TestFootHidesNothingInTheBrowser: on a phone the foot of a running job stays in sight and takes at most two fifths of the
// window; what has the focus is never wholly under it (WCAG 2.2, success criterion 2.4.11), and the page's end can be scrolled
// above it.
func TestFootHidesNothingInTheBrowser(t *testing.T) {
	r := newRunning(t)
	v := openBoard(t, r, 360, false)
	v.Do(chromedp.EmulateViewport(360, 640))
	for name, path := range map[string]string{"list": "/", "job": "/job/1", "device": "/device/roll-plotter", "drop": "/drop", "past": "/past"} {
		v.Do(chromedp.Navigate(r.address + path))
		v.Until("Pause 1")
		if got := v.told(`(() => { const f = document.querySelector("footer").getBoundingClientRect(); return f.bottom <= innerHeight + 1 && f.top >= 0 && f.height <= innerHeight * 2 / 5 ? "" : f.top + " to " + f.bottom })()`); got != "" {
			t.Errorf("%s: the foot lies at %s of 640", path, got)
		}
		v.act(`window.tabbed = new Set(); document.querySelector("#main").focus()`)
		for range 150 {
			v.press(kb.Tab)
			said := v.told(`(() => { const e = document.activeElement, f = document.querySelector("footer");
				if (e === document.body || f.contains(e) || tabbed.has(e)) return "end";
				tabbed.add(e);
				const r = e.getBoundingClientRect();
				return r.top >= f.getBoundingClientRect().top - 1 ? "hidden: " + e.outerHTML.slice(0, 120) : "" })()`)
			if said == "end" {
				break
			}
			if said != "" {
				t.Errorf("%s: %s", path, said)
			}
		}
		if n := v.told("String(tabbed.size)"); n == "0" {
			t.Errorf("%s: nothing has the focus", path)
		}
		v.act("scrollTo(0, document.documentElement.scrollHeight)")
		if got := v.told(`(() => { const m = document.querySelector("#main").getBoundingClientRect().bottom, f = document.querySelector("footer").getBoundingClientRect().top; return m <= f + 1 ? "" : m + " under " + f })()`); got != "" {
			t.Errorf("%s: its end lies at %s", path, got)
		}
		v.Look("foot-" + name + "-360")
	}
}

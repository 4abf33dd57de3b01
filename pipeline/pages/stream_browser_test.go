//go:build browser

package pages_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"tracewheel/config/samples"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pages"
	"tracewheel/pipeline/pages/browsertest"
)

// watched notes what notifications a page shows and whether it holds the stream. A browser without a screen shows none.
const watched = `window.shown = []; window.Notification = class { static permission = "granted";
	static requestPermission() { return Promise.resolve("granted"); }
	constructor(title, about) { shown.push(title + ", " + about.body); } };
	document.addEventListener("heard", e => { window.holds = e.detail.holds; });`

// streams waits until the server has so many for a second.
func (r *shown) streams(want int) {
	r.t.Helper()
	since, end := time.Now(), time.Now().Add(time.Minute)
	for time.Since(since) < time.Second {
		if pages.Listeners(r.pages) != want {
			since = time.Now()
		}
		if time.Now().After(end) {
			r.t.Fatalf("%d streams, not %d", pages.Listeners(r.pages), want)
		}
		time.Sleep(10 * time.Millisecond)
	}
}

// hide hides tabs as far as their pages know, or shows them.
func hide(hidden bool, some ...browsertest.Browser) {
	for _, b := range some {
		b.Ask(fmt.Sprintf(`Object.defineProperty(document, "hidden", { value: %v, configurable: true }); document.dispatchEvent(new Event("visibilitychange")); ""`, hidden))
	}
}

// TestOneStreamInTheBrowser: ten tabs of one browser share one stream and are all live; one notification comes of each
// event; when the tab that holds the stream is closed, another takes it over; hidden tabs close it, unless notifications
// are on.
func TestOneStreamInTheBrowser(t *testing.T) {
	r := newShown(t, nil)
	first := browsertest.Open(t, 1440, false, axe)
	address, _, _ := strings.Cut(r.pages.Entrance(), "/enter")
	first.Before(watched)
	first.Do(chromedp.Navigate(r.pages.Entrance()), chromedp.Click(chromedp.CSS("main button")))
	first.Until("Notify me in this browser")
	first.Sound("notifications-1440")
	first.Do(chromedp.Click(chromedp.CSS("#notify button")))
	first.Until("Notifications are on")
	tabs := []browsertest.Browser{first}
	for range 9 {
		tab := first.Tab()
		tab.Before(watched)
		tab.Do(chromedp.Navigate(address + "/"))
		tab.Until("Turn notifications off")
		tabs = append(tabs, tab)
	}
	r.streams(1)
	all := func(script string) (said []string) {
		t.Helper()
		for _, b := range tabs {
			said = append(said, b.Ask(script))
		}
		return said
	}
	dropped := int64(0)
	drop := func() {
		t.Helper()
		dropped++
		r.drop("roll-plotter", fmt.Sprintf("usher-waistcoat-%d.svg", dropped), samples.Read("usher-waistcoat.svg"), "")
	}
	live := func() {
		t.Helper()
		for _, b := range tabs {
			b.Until(fmt.Sprintf("%d · Usher", dropped))
		}
		r.until(dropped, "refused", func(j ledger.Job) bool { return j.State == ledger.Aborted })
		r.streams(1)
		if got := strings.Count(strings.Join(all("shown.join('; ')"), "; "), fmt.Sprintf("Job %d was refused, roll-plotter", dropped)); got != 1 {
			t.Errorf("%d notifications of job %d: %q", got, dropped, all("shown.join('; ')"))
		}
	}
	drop()
	live()

	holds := -1
	for i, said := range all("String(window.holds)") {
		if said == "true" {
			if holds >= 0 {
				t.Error("two tabs hold the stream")
			}
			holds = i
		}
	}
	if holds < 0 {
		t.Fatal("no tab holds the stream")
	}
	tabs[holds].Close()
	tabs = append(tabs[:holds:holds], tabs[holds+1:]...)
	r.streams(1)
	drop()
	live()

	hide(true, tabs...)
	r.streams(1) // for the notifications
	drop()
	for end := time.Now().Add(time.Minute); !strings.Contains(strings.Join(all("shown.join('; ')"), "; "), "Job 3 was refused"); time.Sleep(100 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatal("hidden tabs show no notification")
		}
	}
	hide(false, tabs...)
	live()

	tabs[0].Do(chromedp.Click(chromedp.CSS("#notify button")))
	tabs[1].Until("A notification says")
	hide(true, tabs...)
	r.streams(0)
	drop()
	time.Sleep(time.Second) // a second in which nobody listens
	hide(false, tabs[2])
	tabs = tabs[2:3]
	tabs[0].Until(fmt.Sprintf("%d · ", dropped))
	r.streams(1)
	if got := all("shown.join('; ')")[0]; strings.Contains(got, "Job 4") {
		t.Errorf("a notification comes though they are off: %s", got)
	}
}

//go:build browser

package pages_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"

	"tracewheel/config/samples"
)

// TestNewerKeystrokeStopsTheOlderInTheBrowser: a drawing that is under way is given up for a newer keystroke, and the newest is
// drawn; one that takes longer than a second twice is given up and told, and what was drawn last stays.
func TestNewerKeystrokeStopsTheOlderInTheBrowser(t *testing.T) {
	v := openDesk(t, 1440, "", false)
	v.Do(chromedp.Click(chromedp.CSS(`[aria-label="Draw this: Ferry-hand's smock"]`)))
	v.Until("7 pieces")
	v.act(`{ const real = fetch; window.stopped = 0;
		window.answer = (url, how) => new Promise((done, lost) => {
			how.signal.addEventListener("abort", () => { window.stopped++; lost(new DOMException("", "AbortError")) });
			setTimeout(() => real(url, how).then(done, lost), 1500) });
		window.fetch = (url, how) => url === "/desk/draw" ? window.answer(url, how) : real(url, how);
		window.write = n => { const e = document.querySelector("#text"); e.value = e.value.replace(/P: from O down [0-9]+/, "P: from O down " + n); e.dispatchEvent(new Event("input")) };
		write(5); setTimeout(() => write(6), 400); setTimeout(() => write(7), 800) }`)
	v.until("document.querySelector('#changed').textContent.includes('7') && document.querySelector('#count').innerText === '7 pieces'")
	if n := v.told("String(window.stopped)"); n != "2" {
		t.Errorf("%s drawings were given up for newer ones", n)
	}
	v.act(`window.asks = 0; window.answer = async () => { window.asks++;
		return new Response(JSON.stringify({ svg: "", faults: [], checks: [], slow: true })) };
		window.was = document.querySelector("#picture").innerHTML; write(8)`)
	v.until("document.querySelector('#count').innerText.startsWith('Given up: the drawing takes longer than a second here. The pieces as they were drawn last stand below.')")
	if said := v.told("[window.asks, document.querySelector('#picture').innerHTML === window.was, document.querySelector('#text').value.includes('P: from O down 8')].join()"); said != "2,true,true" {
		t.Errorf("asked how often, the pieces and the words stand: %s", said)
	}
}

// BenchmarkKeystrokeInTheBrowser is the time from a keystroke to the frame that shows its picture, of 100 in a page that has
// been opened: the median and the worst, in ms.
func BenchmarkKeystrokeInTheBrowser(b *testing.B) {
	v := openDesk(b, 1440, "", false)
	pocket := "style: Pocket\nunit: cm\nbodies: {A: {hand: 20}}\nbody: A\nnumbers:\n  wide: hand - 4\n  deep: hand\npieces:\n  pocket: rectangle wide by deep; cut 2; allowance included\n"
	if err := os.MkdirAll(v.drafts, 0o700); err != nil {
		b.Fatal(err)
	}
	for name, text := range map[string]string{"tunic": string(samples.Read("princess-tunic.yaml")), "pocket": pocket} {
		if err := os.WriteFile(filepath.Join(v.drafts, name+".yaml"), []byte(text), 0o600); err != nil {
			b.Fatal(err)
		}
	}
	for _, c := range []struct{ name, was string }{{"tunic", "neck/6 + 0.8"}, {"pocket", "hand - 4"}} {
		b.Run(c.name, func(b *testing.B) {
			v.Do(chromedp.Navigate(v.address + "/desk/draft/" + c.name))
			v.until("document.readyState === 'complete' && document.querySelector('#count') && document.querySelector('#count').innerText.includes('piece')") // the pocket is one
			v.until("performance.getEntriesByType('resource').some(e => e.name.endsWith('/desk/draw') && performance.now() - e.responseEnd > 300)")           // what the page draws as it opens is shown
			for b.Loop() {
				took, err := chromedp.Run(v.Ctx, chromedp.Evaluate[[]float64](fmt.Sprintf(`(async () => {
					const text = document.querySelector("#text"), was = text.value, took = [];
					for (let n = 1; n <= 100; n++) {
						const shown = new Promise(done => document.addEventListener("drawn", () => requestAnimationFrame(() => setTimeout(done)), { once: true }));
						const from = performance.now();
						text.value = was.replace(%q, %q + " + 0." + String(n).padStart(3, "0"));
						text.dispatchEvent(new Event("input"));
						await shown;
						took.push(performance.now() - from);
						await new Promise(done => setTimeout(done, 50));
					}
					text.value = was;
					return took.sort((a, b) => a - b);
				})()`, c.was, c.was), chromedp.EvalAwaitPromise))
				if err != nil || len(took) != 100 {
					b.Fatal(took, err)
				}
				b.ReportMetric(took[50], "ms-median")
				b.ReportMetric(took[99], "ms-worst")
			}
		})
	}
}

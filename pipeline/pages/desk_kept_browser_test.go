//go:build browser

package pages_test

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"tracewheel/pipeline/making"
	"tracewheel/pipeline/pages"
)

const neckSash = "style: Sash\nunit: cm\nbodies:\n  A: {neck: 38}\npieces:\n  sash: rectangle neck by 5; cut 1\nallow: 1\n"

// TestKeptMeasuresHaveTheirUnitInTheBrowser: the page's own Write the measures so and Keep the card offer nothing as kept, since
// nothing is lost. Measures that are left unsaved come back in the unit in which they were written: 38.1 cm are 15 in (ISO 31).
// A child has a box for its height.
func TestKeptMeasuresHaveTheirUnitInTheBrowser(t *testing.T) {
	v := openDesk(t, 1440, "", false)
	file := filepath.Join(v.drafts, "sash.yaml")
	if err := errors.Join(os.MkdirAll(v.drafts, 0o700), os.WriteFile(file, []byte(neckSash), 0o600)); err != nil {
		t.Fatal(err)
	}
	const neck, inches = "(document.querySelector('[data-measure=neck]') || {})", "document.querySelector('#h-body').innerText === 'Measures, in'"
	const leave = "document.querySelector('#kept-here').hidden"
	v.Do(chromedp.Navigate(v.address + "/desk/draft/sash"))
	v.until("document.querySelector('#count').innerText === '1 piece'")
	v.act("{ const e = " + neck + "; e.value = '38.1'; e.dispatchEvent(new Event('input')); const u = document.querySelector('#in-unit'); u.value = 'in'; u.dispatchEvent(new Event('change')) }")
	v.until(inches + " && " + neck + ".value === '15'")
	if v.told("String("+leave+")") != "true" {
		t.Error("after Write the measures so they are offered as kept")
	}
	v.leaves()
	v.Do(chromedp.Navigate("about:blank"), chromedp.Navigate(v.address+"/desk/draft/sash"))
	v.until("!" + leave + " && " + neck + ".value === '38'")
	v.Do(chromedp.Click(chromedp.CSS("#kept-here button")))
	v.until(inches + " && " + neck + ".value === '15' && " + leave + " && document.querySelector('#count').innerText === '1 piece'")
	v.act("document.querySelector('#card').value = 'Nell'; document.querySelector('[name=do][value=card]').click()")
	v.Until("The measure card is kept.")
	if v.told("String("+leave+")") != "true" {
		t.Error("after Keep the card the measures are offered as kept")
	}
	v.act("{ const k = document.querySelector('#kind'); k.value = 'child'; k.dispatchEvent(new Event('change')) }")
	v.until("document.querySelector('[data-measure=height]') !== null") // by which a child's measures are judged
}

// TestStartedAgainInTheBrowser: the desk of a folder is started again at the port that it had, so that a page that is still open
// says where to come in; a new tab of the browser offers its words, and then Save works in the old one.
func TestStartedAgainInTheBrowser(t *testing.T) {
	v := openDesk(t, 360, "", false)
	if err := errors.Join(os.MkdirAll(v.drafts, 0o700), os.WriteFile(filepath.Join(v.drafts, "sash.yaml"), []byte(neckSash), 0o600)); err != nil {
		t.Fatal(err)
	}
	v.Do(chromedp.Navigate(v.address + "/desk/draft/sash"))
	v.until("document.querySelector('#count').innerText === '1 piece'")
	v.act("{ const e = document.querySelector('#text'); e.value += '# moonlight\\n'; e.dispatchEvent(new Event('input')) }")
	v.stop()
	room := *making.Sample()
	room.Dir = filepath.Dir(v.drafts)
	again, _, err := pages.Desk(pages.DeskOptions{Room: &room, End: func() {}})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = again.Stop(t.Context()) }) // all was seen
	entrance := again.Entrance()
	if !strings.HasPrefix(entrance, v.address+"/") {
		t.Fatalf("it was at %s and is at %s", v.address, entrance)
	}
	v.Do(chromedp.Click(chromedp.CSS("[name=do][value=save]")))
	v.until("document.querySelector('#gone').innerText.includes('started again') && document.querySelector('#text').value.includes('moonlight')")
	const framed = `(() => { const g = document.querySelector("#gone"), r = g.getBoundingClientRect(); return g.getClientRects().length === 1 && [...g.children].every(e => { const c = e.getBoundingClientRect(); return c.left >= r.left && c.right <= r.right && c.top >= r.top && c.bottom <= r.bottom }) })()`
	v.until(framed)
	v.Sound("started-again-360")

	tab := v
	tab.Browser = v.Tab()
	tab.Do(chromedp.Navigate(entrance), chromedp.Click(chromedp.CSS("main button")))
	tab.until("document.body.innerText.includes('Begin with a garment')")
	tab.Do(chromedp.Navigate(v.address + "/desk/draft/sash"))
	tab.until("!document.querySelector('#kept-here').hidden && !document.querySelector('#text').value.includes('moonlight')")
	v.Do(chromedp.Click(chromedp.CSS("[name=do][value=save]")))
	v.Until("Saved.")
	if text, err := os.ReadFile(filepath.Join(v.drafts, "sash.yaml")); err != nil || !strings.Contains(string(text), "moonlight") {
		t.Errorf("saved: %s %v", text, err)
	}
}

// TestProgramIsGoneInTheBrowser: where the program is gone, the page says so by itself and keeps its words when Save is pressed;
// left without saving and opened again in its tab, it has them.
func TestProgramIsGoneInTheBrowser(t *testing.T) {
	for _, width := range []int64{360, 1440} {
		v := openDesk(t, width, "", width == 360)
		v.Do(chromedp.Click(chromedp.CSS(`[aria-label="Draw this: Ferry-hand's smock"]`)))
		v.Until("7 pieces")
		write := "{ const e = document.querySelector('#text'); e.value += '# moonlight\\n'; e.dispatchEvent(new Event('input')) }"
		v.act(write)
		v.leaves()
		v.Do(chromedp.Navigate("about:blank"))
		v.Do(chromedp.Navigate(v.address + "/desk/draft/ferry-smock"))
		v.until("!document.querySelector('#kept-here').hidden && !document.querySelector('#text').value.includes('moonlight')")
		v.Sound(fmt.Sprintf("kept-here-%d", width))
		v.Do(chromedp.Click(chromedp.CSS("#kept-here button")))
		v.until("document.querySelector('#kept-here').hidden && document.querySelector('#text').value.includes('moonlight')")
		v.stop()
		v.until("document.querySelector('#gone').innerText.includes('The program does not answer')") // unasked
		v.act("document.querySelector('#gone').hidden = true")
		v.Do(chromedp.Click(chromedp.CSS("[name=do][value=save]")))
		v.until("!document.querySelector('#gone').hidden && document.querySelector('#text').value.includes('moonlight')")
		v.Sound(fmt.Sprintf("gone-%d", width))
	}
}

//go:build browser

package pages_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// TestDeskInTheBrowser is a dressmaker's way without a terminal: choose a starter, give a measure, see the pieces and
// what moved, see a sentence and its point light up, make a slip and take the offered word, compare two bodies, save,
// keep a card, chalk step by step, get sheets.
func TestDeskInTheBrowser(t *testing.T) {
	for _, width := range []int64{360, 1440} {
		t.Run(fmt.Sprint(width), func(t *testing.T) {
			v := openDesk(t, width, "", width == 1440)
			v.Sound(fmt.Sprintf("shelf-%d", width))
			v.Do(chromedp.Click(chromedp.CSS(`[aria-label="Draw this: Ferry-hand's smock"]`)))
			v.Until("Measures, cm")
			v.Until("7 pieces")
			v.Sound(fmt.Sprintf("desk-%d", width))

			picture := "document.querySelector('#picture').innerHTML"
			v.act("window.before = " + picture + "; document.querySelector('[data-measure=bust]').select()")
			v.Do(chromedp.KeyEvent("104"))
			v.until(picture + " !== before && document.querySelector('#changed').textContent.includes('quarter 30, was 27')")
			if v.told("String(document.querySelectorAll('#picture path.before').length > 0)") != "true" || v.told("String(document.querySelector('.unkept').hidden)") != "false" {
				t.Error("the pieces as they were are not behind, or the measures are not told as not kept")
			}

			// Light: from the caret to the point, and from the point to the sentence.
			v.act("{ const e = document.querySelector('#text'), at = e.value.indexOf('  P: from O'); e.focus(); e.setSelectionRange(at + 3, at + 3) }")
			v.until("[...document.querySelectorAll('#picture .handle.lit')].some(e => e.dataset.name === 'P')")
			v.act("document.querySelector('#picture .handle[data-name=U]').dispatchEvent(new PointerEvent('pointerover', { bubbles: true }))")
			v.until("document.querySelector('#lit').innerText.includes(': U: from O')")

			// From the words of the sentence to their examples.
			v.until("document.querySelector('#shown').innerText.startsWith('Examples: from down')")
			v.until("(() => { const a = document.querySelector('#shown a'); return a.target === '_blank' && /\\/examples#.*from/.test(a.href) })()")
			v.Sound(fmt.Sprintf("examples-%d", width))
			v.Shot(fmt.Sprintf("lit-%d", width))

			// A slip, and the offered word.
			v.act("{ const e = document.querySelector('#text'); e.value = e.value.replace('P: from O down 4', 'P: from O dwon 4'); e.dispatchEvent(new Event('input')) }")
			v.Until("dwon")
			v.until("document.querySelectorAll('#faults button').length > 1")
			v.Sound(fmt.Sprintf("slip-%d", width))
			v.act("[...document.querySelectorAll('#faults button')].pop().click()")
			v.until("document.querySelector('#text').value.includes('P: from O down 4') && document.querySelector('#count').innerText === '7 pieces'")

			// Two bodies, nested upon a point and side by side.
			v.act("{ const e = document.querySelector('#with'); e.value = 'B'; e.dispatchEvent(new Event('input')); const u = document.querySelector('#upon'); u.value = 'U'; u.dispatchEvent(new Event('input')) }")
			v.until("document.querySelector('#changed').textContent.includes('hip')")
			v.Sound(fmt.Sprintf("bodies-%d", width))
			v.act("document.querySelector('#beside').click()")
			v.until("document.querySelectorAll('#picture .handle[data-name=U]').length === 4")
			v.Sound(fmt.Sprintf("beside-%d", width))
			v.act("{ const e = document.querySelector('#text'); e.value = e.value.replace('P: from O down 4', 'P: from O down 5'); e.dispatchEvent(new Event('input')) }")
			if v.told("String(document.querySelector('#news').hidden)") != "true" {
				t.Error("a file that nobody changed is told as changed")
			}
			v.Do(chromedp.Click(chromedp.CSS(`[name=do][value=save]`)))
			v.Until("Saved. The measures below are not kept yet")
			v.until("document.querySelector('[data-measure=bust]').value === '104'")
			if !strings.Contains(v.file("ferry-smock.yaml"), "P: from O down 5") {
				t.Error("what was saved is not in the file")
			}
			if old, err := filepath.Glob(filepath.Join(v.drafts, ".versions", "*")); err != nil || len(old) != 1 {
				t.Errorf("old versions: %v %v", old, err)
			}
			v.act("{ const e = document.querySelector('#card'); e.scrollIntoView({ block: 'center' }); e.select() }") // from under the bar
			v.Do(chromedp.KeyEvent("harbour 1"), chromedp.Click(chromedp.CSS(`[name=do][value=card]`)))
			v.Until("The measure card is kept.")
			v.Sound(fmt.Sprintf("card-%d", width))
			v.act("document.querySelector('#fit-name').value = 'slit'; document.querySelector('#fit-by').value = '1.5'; document.querySelector('#fit-why').value = 'sticks at the ears'; document.querySelector('button[value=add]').click()")
			v.Until("slit 1.5 more, sticks at the ears")
			v.act("document.querySelector('[aria-label^=\"Undo slit\"]').click()")
			v.Until("None yet.")
			if said := v.told(`fetch("/desk/draft/ferry-smock/sheets?paper=a4&body=harbour+1").then(r => r.text()).then(t => t.startsWith("%PDF-") ? "a PDF" : t)`); said != "a PDF" {
				t.Errorf("the sheets are %s", said)
			}

			// What another program saves is seen.
			v.Do(chromedp.Navigate(v.address + "/desk/draft/ferry-smock?body=harbour+1"))
			v.Until("7 pieces")
			if err := os.WriteFile(filepath.Join(v.drafts, "ferry-smock.yaml"), []byte("# by an editor\n"+v.file("ferry-smock.yaml")), 0o600); err != nil {
				t.Fatal(err)
			}
			v.until("(document.querySelector('#text') || {value: ''}).value.startsWith('# by an editor')")

			v.Do(chromedp.Navigate(v.address + "/desk/draft/ferry-smock/versions"))
			v.Until("Bring back")
			v.Sound(fmt.Sprintf("versions-%d", width))
			v.Do(chromedp.Navigate(v.address + "/desk/card/harbour%201/versions?draft=ferry-smock"))
			v.Until("Bring back")
			v.Sound(fmt.Sprintf("card-versions-%d", width))
			v.Do(chromedp.Navigate(v.address + "/desk/draft/moonlight"))
			v.Until("Not done")
			v.Sound(fmt.Sprintf("no-draft-%d", width))
			v.Do(chromedp.Navigate(v.address + "/desk/draft/ferry-smock/steps?body=harbour+1"))
			v.Until("for harbour 1")
			v.Sound(fmt.Sprintf("steps-%d", width))
			v.act("document.querySelector('#step-1 .next').click()")
			v.until("location.hash === '#step-2' && document.querySelector('#step-2').getBoundingClientRect().top < 40")
			if width == 360 {
				v.View("desk-chalking-360")
			}
			v.Do(chromedp.Navigate(v.address+"/desk"), chromedp.Navigate(v.address+"/desk/draft/ferry-smock/steps?body=harbour+1"))
			v.until("location.hash === '#step-2'") // the place is kept
			v.Do(chromedp.Navigate(v.address + "/desk/draft/ferry-smock/cloth?body=harbour+1"))
			v.Until("to buy")
			v.Sound(fmt.Sprintf("cloth-%d", width))
			v.Do(chromedp.Navigate(v.address + "/desk/phone"))
			v.Sound(fmt.Sprintf("phone-%d", width))
		})
	}
}

// TestDeskByKeyboardInTheBrowser goes from the opened desk to a PDF of the tunic in one's own measures by keys alone,
// and counts: a key that leads on, a field that is filled in and a choice are an action each, fewer than forty.
func TestDeskByKeyboardInTheBrowser(t *testing.T) {
	for _, width := range []int64{360, 1440} {
		t.Run(fmt.Sprint(width), func(t *testing.T) { deskByKeyboard(t, width) })
	}
}

func deskByKeyboard(t *testing.T, width int64) {
	v := openDesk(t, width, "", false)
	actions := 0
	at := func(script string) bool { return v.told("String(("+script+")(document.activeElement))") == "true" }
	// A person looks for the next thing by Tab, which is no decision; what is counted is what one does there.
	tabTo := func(script string) {
		t.Helper()
		for range 80 {
			if at(script) {
				return
			}
			v.Do(chromedp.KeyEvent(kb.Tab))
		}
		t.Fatalf("Tab never comes to %s", script)
	}
	press := func(key string) { actions++; v.Do(chromedp.KeyEvent(key)) }
	tabTo(`e => e.getAttribute("aria-label") === "Draw this: Mermaid's princess tunic"`)
	press(kb.Enter)
	v.Until("Measures, cm")
	mine := map[string]string{"bust": "101", "high bust": "95", "waist": "83", "hip": "107", "hip depth": "20", "neck": "38", "shoulder": "13", "across front": "35", "across back": "37.5",
		"nape to waist": "41", "front waist": "45.5", "apex depth": "28", "apex separation": "19.5", "armhole depth": "19.5"}
	for range len(mine) {
		tabTo(`e => e.dataset.measure && !e.dataset.done`)
		name := v.told(`document.activeElement.dataset.measure`)
		v.act(`document.activeElement.dataset.done = "yes"; document.activeElement.select()`)
		actions++ // a field filled in
		v.Do(chromedp.KeyEvent(mine[name]))
	}
	v.until("document.querySelector('#changed').textContent.includes('bust') && document.querySelector('#count').innerText.includes('pieces')")
	v.act("document.querySelector('#text').scrollTop = 400; document.querySelector('#picture .handle[data-name=U]').dispatchEvent(new PointerEvent('pointerover', { bubbles: true })); document.querySelector('.pieces').scrollTop = 0; scrollTo(0, 0)")
	if width == 1440 {
		v.View("desk-1440")
	}
	tabTo(`e => e.value === "make sheets a4"`)
	if shown := v.told("getComputedStyle(document.activeElement).outlineStyle"); shown == "none" {
		t.Error("the focus is not to be seen")
	}
	into := t.TempDir()
	if _, err := chromedp.CallBrowser(v.Ctx, browser.SetDownloadBehavior, browser.SetDownloadBehaviorParams{Behavior: browser.SetDownloadBehaviorBehaviorAllow, DownloadPath: into}); err != nil {
		t.Fatal(err)
	}
	press(kb.Enter)
	pdf := ""
	for deadline := time.Now().Add(2 * time.Minute); pdf == "" && time.Now().Before(deadline); time.Sleep(100 * time.Millisecond) {
		if all, _ := filepath.Glob(filepath.Join(into, "*.pdf")); len(all) == 1 { // under another name until it is whole
			text, err := os.ReadFile(all[0])
			if err != nil {
				t.Fatal(err)
			}
			pdf = string(text)
		}
	}
	if !strings.HasPrefix(pdf, "%PDF-") || !strings.Contains(pdf[max(0, len(pdf)-1024):], "%%EOF") {
		t.Errorf("the sheets are %.400q; the page:\n%s", pdf, v.told("document.body.innerText"))
	}
	v.until("!document.querySelector('#seeking').hidden && document.activeElement.value === 'make sheets a4'") // the page stays
	t.Logf("from the opened desk to the PDF: %d actions", actions)
	if actions >= 40 {
		t.Errorf("%d actions", actions)
	}
	// Words by keyboard: the caret alone lights a point up, and Escape loses nothing.
	tabTo(`e => e.id === "text"`)
	v.Do(chromedp.KeyEvent("# mine"), chromedp.KeyEvent(kb.Escape))
	if !strings.Contains(v.told("document.querySelector('#text').value"), "# mine") {
		t.Error("Escape lost words")
	}
}

// TestEighthsInTheBrowser: on a phone's width a touch on an eighth writes it at the caret of the measure that was
// written last, in place of a fraction there, and the pieces follow; each is 44 px high at least and within the page.
func TestEighthsInTheBrowser(t *testing.T) {
	v := openDesk(t, 360, "", false)
	draft := "style: Pocket\nunit: in\nbodies: {A: {hand: 8, wrist: 6}}\nbody: A\nnumbers:\n  wide: hand - 1\npieces:\n  pocket: rectangle wide by wrist; cut 2; allowance included\n"
	if err := os.MkdirAll(v.drafts, 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(v.drafts, "pocket.yaml"), []byte(draft), 0o600); err != nil {
		t.Fatal(err)
	}
	v.Do(chromedp.Navigate(v.address + "/desk/draft/pocket"))
	v.until("document.querySelector('#eighths') && !document.querySelector('#eighths').hidden && document.querySelector('#count').innerText === '1 piece'")
	v.act("{ const e = document.querySelector('[data-measure=hand]'); e.focus(); e.setSelectionRange(1, 1); e.scrollIntoView({ block: 'center' }) }")
	if small := v.told("String([...document.querySelectorAll('#eighths button')].filter(b => { const r = b.getBoundingClientRect(); return r.height < 44 || r.left < 0 || r.right > 360 }).length)"); small != "0" {
		t.Errorf("%s of the buttons are too small, or beside the page", small)
	}
	v.Sound("eighths-360")
	v.View("eighths-view-360")
	for _, c := range []struct{ n, hand string }{{"3", "8 3/8"}, {"7", "8 7/8"}} {
		v.Do(chromedp.Click(chromedp.CSS("#eighths button:nth-child(" + c.n + ")")))
		if got := v.told("document.querySelector('[data-measure=hand]').value"); got != c.hand {
			t.Errorf("the hand is %q, not %s", got, c.hand)
		}
	}
	v.until("document.querySelector('#changed').textContent.includes('7 7/8') && document.activeElement.dataset.measure === 'hand' && document.querySelector('[data-measure=wrist]').value === '6'")
}

// TestDeskOnAPhoneInTheBrowser: the page shares the desk once it is told to, shows its code and what it opens, and ends it.
func TestDeskOnAPhoneInTheBrowser(t *testing.T) {
	for _, width := range []int64{360, 1440} {
		v := openDesk(t, width, "", width == 360)
		v.Do(chromedp.Navigate(v.address + "/desk/phone"))
		v.Until("What that opens")
		v.Do(chromedp.Click(chromedp.CSS("#share button"))) // the browser asks for the tick first
		v.until("document.querySelector('#share input').matches(':invalid') && document.querySelectorAll('.qr').length === 0")
		v.Do(chromedp.Click(chromedp.CSS("#share input")), chromedp.Click(chromedp.CSS("#share button")))
		v.Until("What this opens")
		v.until("document.querySelectorAll('.qr svg').length === 1")
		if light := v.told("getComputedStyle(document.querySelector('.qr rect')).fill"); light != "rgb(255, 255, 255)" {
			t.Errorf("the ground of the code is %s, and a camera reads dark on light", light)
		}
		v.Sound(fmt.Sprintf("phone-shared-%d", width))
		v.Do(chromedp.Click(chromedp.CSS("main form button")))
		v.Until("This desk is open to this machine only.")
	}
}

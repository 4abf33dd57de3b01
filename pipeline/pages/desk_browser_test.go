//go:build browser

package pages_test

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"tracewheel/config/samples"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/pages"
	"tracewheel/pipeline/pages/browsertest"
)

// visit is a browser at a desk that runs by itself.
type visit struct {
	browsertest.Browser
	t       testing.TB
	drafts  string
	cards   string
	address string
	stop    func()
}

func openDesk(t testing.TB, width int64, host string, dark bool) visit {
	t.Helper()
	room := *making.Sample()
	room.Dir = t.TempDir()
	shown, _, err := pages.Desk(pages.DeskOptions{Room: &room, Host: host, Home: func() (string, error) { return "127.0.0.1", nil }, End: func() {}})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = shown.Stop(t.Context()) }) // all was seen
	b := browsertest.Open(t, width, dark, "../../.ci/node_modules/axe-core/axe.min.js")
	entrance := shown.Entrance()
	address, _, _ := strings.Cut(entrance, "/enter")
	b.Do(chromedp.Navigate(entrance), chromedp.Click(chromedp.CSS("main button")))
	b.Until("Begin with a garment")
	return visit{b, t, filepath.Join(room.Dir, "drafts"), room.Path("cards"), address, func() { _ = shown.Stop(t.Context()) }}
}

// told asks the page for a text.
func (v visit) told(script string) string {
	v.t.Helper()
	text, err := chromedp.Run(v.Ctx, chromedp.Evaluate[string](script, chromedp.EvalAwaitPromise))
	if err != nil {
		v.t.Fatal(err)
	}
	return text
}

// act runs a script in the page.
func (v visit) act(script string) { v.t.Helper(); v.Do(chromedp.Evaluate[chromedp.Void](script)) }

// until waits for a script to give true, for a minute. While a page gives way to the next no script is answered.
func (v visit) until(script string) {
	v.t.Helper()
	for deadline := time.Now().Add(time.Minute); ; time.Sleep(100 * time.Millisecond) {
		said, err := chromedp.Run(v.Ctx, chromedp.Evaluate[string]("String("+script+")", chromedp.EvalAwaitPromise))
		if err == nil && said == "true" {
			return
		}
		if time.Now().After(deadline) {
			v.t.Fatalf("never %s (%v); the page:\n%s", script, err, v.told("document.body.innerText"))
		}
	}
}

// leaves answers the browser's question whether to leave the page with yes, as a person does.
func (v visit) leaves() {
	asked := chromedp.Events(v.Ctx, page.JavascriptDialogOpening)
	go func() {
		for _, err := range asked {
			if err != nil {
				return
			}
			_, _ = chromedp.Call(v.Ctx, page.HandleJavaScriptDialog, page.HandleJavaScriptDialogParams{Accept: true}) // else the navigation fails
		}
	}()
}

func (v visit) file(name string) string {
	v.t.Helper()
	data, err := os.ReadFile(filepath.Join(v.drafts, name))
	if err != nil {
		v.t.Fatal(err)
	}
	return string(data)
}

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

// TestCardUnderThePageInTheBrowser: a page tells that its measure card was deleted, keeps what stood there, and keeps it as
// the card again; a card that another program changed is shown where nothing is written, and told where something is. A draft
// that is broken as it is opened never stood.
func TestCardUnderThePageInTheBrowser(t *testing.T) {
	v := openDesk(t, 360, "", false)
	card := filepath.Join(v.cards, "hale.yaml")
	write := func(file, text string) {
		t.Helper()
		if err := errors.Join(os.MkdirAll(filepath.Dir(file), 0o700), os.WriteFile(file, []byte(text), 0o600)); err != nil {
			t.Fatal(err)
		}
	}
	write(card, "unit: in\nmeasures: {waist: 29 1/2}\n")
	write(filepath.Join(v.drafts, "sash.yaml"), "style: Sash\nunit: cm\ncard: hale\npieces:\n  sash: strip 5 wide, waist + 10 long; cut 1\nallow: 1\n")
	write(filepath.Join(v.drafts, "broken.yaml"), "style: [Sash\nunit: cm\n")
	v.Do(chromedp.Navigate(v.address + "/desk/draft/broken"))
	v.until("document.querySelectorAll('#faults li.error').length > 0")
	if said := v.told("document.querySelector('#count').innerText"); said != "Not drawn: see the errors." {
		t.Errorf("a draft that was opened broken: %s", said)
	}

	v.Do(chromedp.Navigate(v.address + "/desk/draft/sash"))
	v.until("document.querySelector('#card-says').innerText.includes('Measures of the card hale') && document.querySelector('[data-measure=waist]').value === '29 1/2'")
	if err := os.Remove(card); err != nil {
		t.Fatal(err)
	}
	v.until("!document.querySelector('#news').hidden && document.querySelector('#news').innerText.includes('deleted or renamed')")
	v.until("document.querySelector('#count').innerText === '1 piece' && !document.querySelector('.unkept').hidden && document.querySelector('[data-measure=waist]').value === '29 1/2'")
	v.Sound("card-gone-360")
	v.Do(chromedp.Click(chromedp.CSS(`[name=do][value=card]`)))
	v.Until("The measure card is kept.")
	if text, err := os.ReadFile(card); err != nil || !strings.Contains(string(text), "29 1/2") {
		t.Errorf("kept again: %s %v", text, err)
	}
	write(card, "unit: in\nmeasures: {waist: 30}\n")
	v.until("(document.querySelector('[data-measure=waist]') || {}).value === '30'")
	v.until("document.querySelector('#count').innerText === '1 piece'")
	v.act("{ const e = document.querySelector('[data-measure=waist]'); e.value = '31'; e.dispatchEvent(new Event('input')) }")
	write(card, "unit: in\nmeasures: {waist: 32}\n")
	v.until("!document.querySelector('#news').hidden && document.querySelector('#news').innerText.includes('changed by another page or program')")
	v.Do(chromedp.Click(chromedp.CSS(`[name=do][value=card]`)))
	v.Until("waist 32 on the card, 31 here")
	v.Sound("card-changed-360")
}

// TestFileUnderThePageInTheBrowser: a page with words that are not saved says that another program changed the file, and a save then
// shows both and overwrites nothing.
func TestFileUnderThePageInTheBrowser(t *testing.T) {
	for _, width := range []int64{360, 1440} {
		v := openDesk(t, width, "", width == 1440)
		file := filepath.Join(v.drafts, "sash.yaml")
		const sash = "style: Sash\nunit: cm\nbodies: {A: {waist: 75}}\npieces:\n  sash: strip 5 wide, waist + 10 long; cut 1\nallow: 1\n"
		theirs := strings.Replace(sash, "5 wide", "7 wide", 1)
		if err := errors.Join(os.MkdirAll(v.drafts, 0o700), os.WriteFile(file, []byte(sash), 0o600)); err != nil {
			t.Fatal(err)
		}
		v.Do(chromedp.Navigate(v.address + "/desk/draft/sash"))
		v.until("document.querySelector('#count').innerText === '1 piece'")
		v.act("{ const e = document.querySelector('#text'); e.value += '# mine\\n'; e.dispatchEvent(new Event('input')) }")
		if err := os.WriteFile(file, []byte(theirs), 0o600); err != nil {
			t.Fatal(err)
		}
		v.until("!document.querySelector('#news').hidden && document.querySelector('#news').innerText.includes('by another program') && document.querySelector('#news-lines').innerText.includes('7 wide')")
		v.Sound(fmt.Sprintf("news-%d", width))
		v.Do(chromedp.Click(chromedp.CSS("[name=do][value=save]")))
		v.Until("The file was changed by somebody else since this page was opened, so nothing was written.")
		v.until("document.querySelector('#text').value.endsWith('# mine\\n') && document.querySelector('.fault pre').innerText.includes('7 wide')")
		v.Sound(fmt.Sprintf("theirs-%d", width))
		if got := v.file("sash.yaml"); got != theirs {
			t.Errorf("the file holds %s", got)
		}
	}
}

// TestBlockUnderThePageInTheBrowser: what another program saves of a draft from which this one takes is seen; the pieces are drawn
// anew, and words that are not saved stay.
func TestBlockUnderThePageInTheBrowser(t *testing.T) {
	v := openDesk(t, 360, "", true)
	block := filepath.Join(v.drafts, "pocket-block.yaml")
	wide := func(n string) {
		t.Helper()
		if err := os.WriteFile(block, []byte("style: Block\nunit: cm\nnumbers:\n  wide: hand - "+n+"\n"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.MkdirAll(v.drafts, 0o700); err != nil {
		t.Fatal(err)
	}
	wide("4")
	if err := os.WriteFile(filepath.Join(v.drafts, "pocket.yaml"), []byte("style: Pocket\nunit: cm\nbodies: {A: {hand: 20}}\nbody: A\nfrom: pocket-block\npieces:\n  pocket: rectangle wide by hand; cut 2; allowance included\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	v.Do(chromedp.Navigate(v.address + "/desk/draft/pocket"))
	v.until("document.querySelector('#count').innerText === '1 piece'")
	v.act("window.here = true; window.was = document.querySelector('#picture').innerHTML")
	wide("6")
	told := "document.querySelector('#block-news').innerText === 'pocket-block, from which this draft takes, was changed by another program. The pieces are drawn anew.'"
	v.until(told + " && window.here === undefined && document.querySelector('#picture').innerHTML !== ''") // opened anew
	v.act("{ window.was = document.querySelector('#picture').innerHTML; const e = document.querySelector('#text'); e.value += '# mine\\n'; e.dispatchEvent(new Event('input')); document.querySelector('#block-news').hidden = true }")
	v.until("document.querySelector('#count').innerText === '1 piece'")
	wide("12")
	v.until("!document.querySelector('#block-news').hidden && document.querySelector('#picture').innerHTML !== was && document.querySelector('#text').value.endsWith('# mine\\n')")
	v.Sound("block-news-360")
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

// BenchmarkKeystrokeInTheBrowser is the time from a keystroke to the frame that shows its picture, of 100: the median
// and the worst, in ms.
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

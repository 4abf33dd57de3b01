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
)

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
	v.until("(all => all.length > 1 && performance.now() - all.at(-1).responseEnd > 400)(performance.getEntriesByType('resource').filter(e => e.name.endsWith('/desk/draw')))") // the words are drawn with the block as it was
	wide("12")
	v.until("!document.querySelector('#block-news').hidden && document.querySelector('#picture').innerHTML !== was && document.querySelector('#text').value.endsWith('# mine\\n')")
	v.Sound("block-news-360")
}

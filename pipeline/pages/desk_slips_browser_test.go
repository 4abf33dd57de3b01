//go:build browser

package pages_test

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// TestSlipsInTheBrowser: on an empty sheet a slip in a measure stands at its field and nothing says that anything is made; a
// click mends it. A refused fitting keeps its form, and a click writes the offered word. The picture stays in sight while the
// last measure is typed.
func TestSlipsInTheBrowser(t *testing.T) {
	v := openDesk(t, 1440, "", false)
	v.Do(chromedp.SendKeys(chromedp.CSS("#own-name"), "my pocket"), chromedp.Click(chromedp.CSS("form.row #own-unit ~ button")))
	v.until("document.querySelector('#count') && document.querySelector('#count').innerText === '1 piece'")
	v.Sound("empty-sheet-1440")
	hand := "document.querySelector('[data-measure=hand]')"
	typed := func(words string) {
		v.act("{ const e = " + hand + "; e.value = '" + words + "'; e.dispatchEvent(new Event('input')) }")
	}
	typed("18,5")
	v.until("!document.querySelector('#s0').hidden && document.querySelector('#s0').innerText.includes('write 18.5') && " + hand + ".getAttribute('aria-invalid') === 'true'")
	if said := v.told("document.querySelector('#made-for').innerText"); !strings.Contains(said, "Nothing can be made yet") {
		t.Errorf("with a slip is said: %s", said)
	}
	v.Sound("slip-at-measure-1440")
	// A card that is refused for it leaves the pieces as they were; mended, the page says no more that it is refused.
	v.Do(chromedp.SendKeys(chromedp.CSS("#card"), "ada"), chromedp.Click(chromedp.CSS("button[value=card]")))
	v.until("document.querySelector('#slipped') && document.readyState === 'complete' && " + hand + ".value === '18,5' && !document.querySelector('#s0').hidden && document.querySelector('#picture.stale svg') && document.querySelector('#count').innerText.includes('as they were stand below')")
	v.Sound("card-refused-1440")
	v.Do(chromedp.Click(chromedp.CSS("#s0 button")))
	v.until("document.querySelector('#slipped').hidden && !document.querySelector('#picture.stale')")
	v.until(hand + ".value === '18.5' && document.querySelector('#s0').hidden && !" + hand + ".hasAttribute('aria-invalid') && document.querySelector('#count').innerText === '1 piece'")
	if said := v.told("document.querySelector('#made-for').innerText"); !strings.Contains(said, "as they are typed") {
		t.Errorf("without a slip is said: %s", said)
	}
	v.Do(chromedp.Click(chromedp.CSS("button[value=card]")))
	v.Until("The measure card is kept.") // so that leaving asks nothing

	card := filepath.Join(v.cards, "hale.yaml")
	if err := errors.Join(os.MkdirAll(v.cards, 0o700), os.WriteFile(card, []byte("unit: cm\nmeasures: {hand: 19}\n"), 0o600)); err != nil {
		t.Fatal(err)
	}
	v.Do(chromedp.Navigate(v.address + "/desk/draft/my%20pocket?body=hale"))
	v.until("document.querySelector('#fitting') && document.querySelector('#count').innerText === '1 piece'")
	v.Do(chromedp.SendKeys(chromedp.CSS("#fit-name"), "hadn"), chromedp.SendKeys(chromedp.CSS("#fit-by"), "1.5"), chromedp.SendKeys(chromedp.CSS("#fit-why"), "tight"), chromedp.Click(chromedp.CSS("#fitting button.first ~ button[value=add]")))
	v.until("document.querySelector('#fit-slip') && document.querySelector('#fit-name').value === 'hadn' && document.querySelector('#fit-by').value === '1.5' && document.querySelector('#fit-why').value === 'tight'")
	v.Sound("fitting-refused-1440")
	v.Do(chromedp.Click(chromedp.CSS("#fit-slip button")))
	v.until("document.querySelector('#fit-name').value === 'hand' && document.activeElement.id === 'fit-name' && !document.querySelector('#fit-slip')")
	v.Do(chromedp.Click(chromedp.CSS("#fitting button.first ~ button[value=add]")))
	v.Until("19 + 1.5 by fittings = 20.5")
	v.until("document.querySelectorAll('#picture path.before').length > 0 && document.querySelector('#changed').textContent.includes('deep 20.5, was 19')")

	v.Do(chromedp.Navigate(v.address + "/desk"))
	v.Until("Begin with a garment")
	v.Do(chromedp.Click(chromedp.CSS(`[aria-label="Draw this: Mermaid's princess tunic"]`)))
	v.until("document.querySelector('#count') && document.querySelector('#count').innerText.includes('pieces') && document.querySelectorAll('[data-measure]').length > 5")
	v.act("[...document.querySelectorAll('[data-measure]')].pop().scrollIntoView({ block: 'center' })")
	v.until("(() => { const r = document.querySelector('#picture svg').getBoundingClientRect(); return scrollY > 600 && r.top >= 0 && r.bottom <= innerHeight })()")
	v.View("desk-scrolled-1440")
}

// TestKeysAndLeavingInTheBrowser: Enter in a measure goes on to the next one and leaves the page as it is. Sheets of measures that
// are not kept are made without a question; leaving them for good asks. A line that is led to lies above the bar of buttons.
func TestKeysAndLeavingInTheBrowser(t *testing.T) {
	v := openDesk(t, 1440, "", false)
	v.Do(chromedp.Click(chromedp.CSS(`[aria-label="Draw this: Ferry-hand's smock"]`)))
	v.until("document.querySelector('#count') && document.querySelector('#count').innerText === '7 pieces' && document.readyState === 'complete'")
	v.act("window.same = true; document.querySelectorAll('[data-measure]')[0].focus()")
	v.Do(chromedp.KeyEvent("\r"))
	v.until("window.same && document.activeElement === document.querySelectorAll('[data-measure]')[1]")

	v.act("document.dispatchEvent(new CustomEvent('goto', { detail: document.querySelector('#text').value.split('\\n').length - 1 }))")
	v.until(`(() => {
		const text = document.querySelector('#text'), high = parseFloat(getComputedStyle(text).lineHeight);
		const foot = text.getBoundingClientRect().top + (text.value.split('\n').length - 1) * high - text.scrollTop;
		return foot <= document.querySelector('.save').getBoundingClientRect().top;
	})()`)

	v.act("{ const e = document.querySelector('[data-measure=bust]'); e.value = '104'; e.dispatchEvent(new Event('input')) }")
	v.act("addEventListener('beforeunload', e => { window.asks = e.defaultPrevented }); document.querySelector('[value=\"make sheets a4\"]').click()")
	v.until("window.asks === false")
	v.until("(() => { const e = new Event('beforeunload', { cancelable: true }); return !dispatchEvent(e) })()")
	v.act("{ const e = document.querySelector('[data-measure=bust]'); e.value = e.defaultValue; e.dispatchEvent(new Event('input')) }")
}

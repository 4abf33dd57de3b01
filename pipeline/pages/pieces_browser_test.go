//go:build browser

package pages_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"tracewheel/pipeline/ledger"
)

// TestPiecesChosenInTheBrowser: on a zoomed picture a click chooses the piece that lies there, found by its shape and not by
// its number; a drag and a click that measures choose nothing; boxes are pressed by keys, and what is chosen is made.
func TestPiecesChosenInTheBrowser(t *testing.T) {
	for _, width := range []int64{360, 1440} {
		t.Run(fmt.Sprint(width), func(t *testing.T) {
			r := newShown(t, nil)
			r.drop("knife-table", "pockets.svg", pair(1), "allowance: included\n")
			r.until(1, "made", made)
			if err := r.shop.Jobs().Cancel(t.Context(), 1); err != nil {
				t.Fatal(err)
			}
			v := openBoard(t, r, width, width == 1440)
			v.Do(chromedp.Navigate(v.address + "/job/1"))
			v.until("document.querySelectorAll('.over .piece.may').length === 3")
			for range 4 {
				v.act(`document.querySelector(".large-tools button").click()`)
			}
			// The strap is the only piece whose cut line is more than a metre long.
			v.act(`window.strap = fetch(document.querySelector("[data-large] > img").src).then(r => r.text()).then(text => {
				const all = [...new DOMParser().parseFromString(text, "image/svg+xml").querySelectorAll("path.cut")].flatMap(p => p.getAttribute("d").split("M").slice(1));
				const boxes = all.map(d => { const n = d.match(/-?[\d.]+/g).map(Number), x = n.filter((_, i) => i % 2 === 0), y = n.filter((_, i) => i % 2); return [Math.min(...x), Math.max(...x), Math.min(...y), Math.max(...y)] });
				return boxes.sort((a, b) => Math.max(b[1] - b[0], b[3] - b[2]) - Math.max(a[1] - a[0], a[3] - a[2]))[0] })`)
			middle := func() (x, y float64) {
				t.Helper()
				at := v.told(`strap.then(b => { const box = document.querySelector("[data-large]"), img = box.querySelector("img"), k = img.getBoundingClientRect().width / 1000, c = [(b[0] + b[1]) / 2, (b[2] + b[3]) / 2];
					box.scrollIntoView({ block: "center" });
					box.scrollLeft += img.getBoundingClientRect().left + c[0] * k - box.getBoundingClientRect().left - box.clientWidth / 2;
					box.scrollTop += img.getBoundingClientRect().top + c[1] * k - box.getBoundingClientRect().top - box.clientHeight / 2;
					const r = img.getBoundingClientRect(); return (r.left + c[0] * k) + " " + (r.top + c[1] * k) })`)
				if _, err := fmt.Sscan(at, &x, &y); err != nil {
					t.Fatal(at)
				}
				return x, y
			}
			chosen := func() string {
				t.Helper()
				return v.told(`[...document.querySelectorAll("[data-choose] input:checked")].map(i => i.parentNode.textContent.trim()).join("; ")`)
			}
			x, y := middle()
			v.Do(chromedp.MouseEvent("mousePressed", x, y, chromedp.ButtonLeft, chromedp.ClickCount(1)), chromedp.MouseEvent("mouseMoved", x-20, y+5, chromedp.ButtonLeft),
				chromedp.MouseEvent("mouseMoved", x-60, y+10, chromedp.ButtonLeft), chromedp.MouseEvent("mouseReleased", x-60, y+10, chromedp.ButtonLeft, chromedp.ClickCount(1)))
			if got := chosen(); got != "" {
				t.Errorf("a drag chose %s", got)
			}
			measure := `[...document.querySelectorAll(".large-tools button")].find(b => b.textContent === "Measure").click()`
			v.act(measure)
			x, y = middle()
			v.Do(chromedp.MouseClickXY(x, y))
			if got := chosen(); got != "" || !strings.Contains(v.told(`document.querySelector(".large-said").textContent`), "second point") {
				t.Errorf("a click that measures chose %q", got)
			}
			v.act(measure)
			x, y = middle()
			v.Do(chromedp.MouseClickXY(x, y))
			if got := chosen(); got != "3 strap" {
				t.Errorf("a click on the strap chose %q", got)
			}
			v.until("document.querySelectorAll('.over .piece.chosen').length === 1")
			v.act(`document.querySelector("[data-choose] input").focus()`)
			v.Do(chromedp.KeyEvent(" "))
			v.until("document.querySelectorAll('.over .piece.chosen').length === 2")
			v.Sound(fmt.Sprintf("pieces-%d", width))
			v.act(`document.querySelector(".large-tools [aria-pressed]").previousElementSibling.click(); document.querySelector("#picture").scrollIntoView()`)
			v.Look(fmt.Sprintf("pieces-chosen-%d", width))
			x, y = middle()
			v.Do(chromedp.MouseClickXY(x, y)) // once more takes it back
			v.until("document.querySelectorAll('.over .piece.chosen').length === 1")
			v.Do(chromedp.MouseClickXY(x, y))
			v.act(`[...document.querySelectorAll("form button")].find(b => b.textContent === "Make it again").click()`)
			r.until(2, "made", made)
			if prog, err := r.shop.Jobs().Program(t.Context(), 2); err != nil || !slices.Equal(prog.Names, []string{"pocket", "strap"}) {
				t.Errorf("made are %q, %v", prog.Names, err)
			}
		})
	}
}

// TestFindingPlaceInTheBrowser: a finding's link rings its place in the picture, and brings it in sight, without leaving the page.
func TestFindingPlaceInTheBrowser(t *testing.T) {
	for _, width := range []int64{360, 1440} {
		t.Run(fmt.Sprint(width), func(t *testing.T) {
			r := newShown(t, nil)
			r.drop("roll-plotter", "gap.svg", []byte(`<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="300mm" viewBox="0 0 300 300"><g data-piece="flap" data-quantity="1"><path class="cut" d="M10 10H210V110L10 110L10 40"/></g></svg>`), "")
			r.until(1, "refused", func(j ledger.Job) bool { return j.State == ledger.Aborted })
			v := openBoard(t, r, width, width == 360)
			v.Do(chromedp.Navigate(v.address + "/job/1"))
			v.until("document.querySelector('svg.over') !== null")
			v.act("window.same = true; document.querySelector('a[data-finding]').focus()")
			v.Do(chromedp.KeyEvent(kb.Enter))
			seen := `(() => { const p = document.querySelector(".over .place"), box = document.querySelector("[data-large]"); if (!p) return false; const r = p.getBoundingClientRect(), b = box.getBoundingClientRect(), x = (r.left + r.right) / 2, y = (r.top + r.bottom) / 2;
				return x > b.left && x < b.right && y > b.top && y < b.bottom })()`
			v.until(seen)
			if v.told("String(window.same)") != "true" || v.told("document.querySelector('.large-said').textContent") != "Finding 1 is ringed in the picture." {
				t.Error("the page was left, or says nothing")
			}
			v.Sound(fmt.Sprintf("finding-%d", width))
			// Loaded anew at that address, it is ringed and in sight at once.
			v.act("location.href = document.querySelector('a[data-finding]').href")
			v.until("window.same !== true && document.querySelector('svg.over .place') !== null")
			v.until(seen)
			v.Look(fmt.Sprintf("finding-loaded-%d", width))
		})
	}
}

// TestPictureFollowsTheAnswerInTheBrowser: a page that is left open while its job is answered shows the picture of what is made
// then, at its scale, without being loaded anew; a page of which nothing changed keeps its picture and its zoom.
func TestPictureFollowsTheAnswerInTheBrowser(t *testing.T) {
	r := newShown(t, nil)
	r.drop("roll-plotter", "smock.yaml", bodiless(), "")
	r.until(1, "asking", func(j ledger.Job) bool { return j.Asks != "" })
	v := openBoard(t, r, 1440, false)
	v.Do(chromedp.Navigate(v.address + "/job/1"))
	v.until("document.querySelector('figure[data-draft] [data-large] > img') !== null && document.querySelector('.large-tools') !== null")
	v.act(`window.same = true; window.was = document.querySelector("[data-large] > img").naturalWidth + "x" + document.querySelector("[data-large] > img").naturalHeight`)
	if err := r.shop.Jobs().Release(t.Context(), 1, map[string]string{"body": "B"}, ""); err != nil {
		t.Fatal(err)
	}
	r.until(1, "made", made)
	v.until(`(() => { const f = document.querySelector("figure.large"), img = f && f.querySelector("[data-large] > img"); return img && !("draft" in f.dataset) && img.complete && img.naturalWidth > 0 &&
		img.naturalWidth + "x" + img.naturalHeight !== window.was && img.alt.startsWith("What is made") && Number(img.dataset.scale) > 0 && f.querySelector(".large-tools") !== null })()`)
	if v.told("String(window.same)") != "true" {
		t.Error("the page was loaded anew")
	}
}

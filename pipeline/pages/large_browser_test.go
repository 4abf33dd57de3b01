//go:build browser

package pages_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"tracewheel/pipeline/pages/browsertest"
)

// square100 is a test square: each side is 100 mm, which is what a page that measures has to find.
const square100 = `<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="300mm" viewBox="0 0 300 300"><g data-piece="square" data-quantity="1"><rect class="cut" x="0" y="0" width="100" height="100"/></g></svg>`

// openBoard is a browser that came in at a workroom's page.
func openBoard(t *testing.T, r *shown, width int64, dark bool) visit {
	t.Helper()
	b := browsertest.Open(t, width, dark, "../../.ci/node_modules/axe-core/axe.min.js")
	entrance := r.pages.Entrance()
	address, _, _ := strings.Cut(entrance, "/enter")
	b.Do(chromedp.Navigate(entrance), chromedp.Click(chromedp.CSS("main button")))
	b.Until("Jobs")
	return visit{Browser: b, t: t, address: address}
}

// atCorners clicks on two corners of the first cut line of the picture: on the first point and on that after it.
func (v visit) atCorners() {
	v.t.Helper()
	v.act(`window.corners = fetch(document.querySelector("[data-large] > img").src).then(r => r.text()).then(text => {
		const d = new DOMParser().parseFromString(text, "image/svg+xml").querySelector("path.cut").getAttribute("d");
		return d.match(/-?[\d.]+/g).slice(0, 4).map(Number) })`)
	for i := range 2 {
		at := strings.Split(v.told(fmt.Sprintf(`corners.then(c => { const box = document.querySelector("[data-large]"), img = box.querySelector("img"), k = () => img.getBoundingClientRect().width / 1000;
			box.scrollIntoView({ block: "center" });
			box.scrollLeft += img.getBoundingClientRect().left + c[%[1]d] * k() - box.getBoundingClientRect().left - box.clientWidth / 2;
			box.scrollTop += img.getBoundingClientRect().top + c[%[1]d + 1] * k() - box.getBoundingClientRect().top - box.clientHeight / 2;
			const r = img.getBoundingClientRect();
			return (r.left + c[%[1]d] * k()) + " " + (r.top + c[%[1]d + 1] * k()) })`, 2*i)), " ")
		x, err := strconv.ParseFloat(at[0], 64)
		y, err2 := strconv.ParseFloat(at[1], 64)
		if err != nil || err2 != nil {
			v.t.Fatal(at)
		}
		v.Do(chromedp.MouseClickXY(x, y))
	}
}

var distance = regexp.MustCompile(`Distance: ([\d.]+) (mm|cm)\.`)

// measured is the distance that the page tells, in mm.
func (v visit) measured() float64 {
	v.t.Helper()
	v.until("document.querySelector('.large-said').textContent.startsWith('Distance')")
	m := distance.FindStringSubmatch(v.told("document.querySelector('.large-said').textContent"))
	if m == nil {
		v.t.Fatalf("no distance: %s", v.told("document.querySelector('.large-said').textContent"))
	}
	mm, _ := strconv.ParseFloat(m[1], 64) // as matched
	if m[2] == "cm" {
		mm *= 10
	}
	return mm
}

// TestLargePictureInTheBrowser: the picture of a job is zoomed by buttons and by keys, moved by a drag, and measured in: a
// side of a square of 100 mm is 100 mm, at each zoom as finely as the page says.
func TestLargePictureInTheBrowser(t *testing.T) {
	for _, width := range []int64{360, 1440} {
		t.Run(fmt.Sprint(width), func(t *testing.T) {
			r := newShown(t, nil)
			r.drop("roll-plotter", "square.svg", []byte(square100), "allowance: included\n")
			r.until(1, "made", made)
			v := openBoard(t, r, width, width == 360)
			v.Do(chromedp.Navigate(v.address + "/job/1"))
			v.until("document.querySelector('.scale-bar') && !document.querySelector('.scale-bar').hidden")
			v.Sound(fmt.Sprintf("large-%d", width))

			press := func(words string) {
				v.act(`[...document.querySelectorAll(".large-tools button")].find(b => b.textContent.startsWith("` + words + `")).click()`)
			}
			wide := func() float64 {
				w, err := strconv.ParseFloat(v.told(`String(document.querySelector("[data-large] > img").getBoundingClientRect().width)`), 64)
				if err != nil {
					t.Fatal(err)
				}
				return w
			}
			press("Measure")
			v.atCorners()
			if got := v.measured(); math.Abs(got-100) > 6 { // a point of a small screen is some mm of a roll
				t.Errorf("at no zoom the side is %g mm", got)
			}
			whole := wide()
			for range 8 {
				press("Larger")
			}
			if got := wide() / whole; math.Abs(got-math.Pow(1.5, 8)) > 0.1 {
				t.Errorf("eight times larger is %g", got)
			}
			v.atCorners()
			if got := v.measured(); math.Abs(got-100) > 0.3 {
				t.Errorf("zoomed, the side is %g mm", got)
			}
			v.Shot(fmt.Sprintf("large-measured-%d", width))

			// The scale bar is as long as it says.
			bar := strings.Split(v.told(`document.querySelector(".scale-bar span").getBoundingClientRect().width + " " + document.querySelector(".scale-bar span + span").textContent`), " ")
			px, _ := strconv.ParseFloat(bar[0], 64)
			said, _ := strconv.ParseFloat(bar[1], 64)
			side, err := strconv.ParseFloat(v.told(`corners.then(c => String(Math.hypot(c[2] - c[0], c[3] - c[1]) / 1000 * document.querySelector("[data-large] > img").getBoundingClientRect().width))`), 64)
			if err != nil || math.Abs(px/said*100/side-1) > 0.02 {
				t.Errorf("the bar of %v is %g px, the side of 100 mm %g", bar[1:], px, side)
			}

			// What follows a drag is no choice; the picture moves by it.
			v.act(`document.querySelector("[data-large]").scrollIntoView({ block: "center" })`)
			before := v.told(`document.querySelector("[data-large]").scrollLeft + " " + document.querySelector(".large-said").textContent`)
			v.Do(chromedp.MouseEvent("mousePressed", 180, 450, chromedp.ButtonLeft, chromedp.ClickCount(1)), chromedp.MouseEvent("mouseMoved", 150, 440, chromedp.ButtonLeft),
				chromedp.MouseEvent("mouseMoved", 100, 430, chromedp.ButtonLeft), chromedp.MouseEvent("mouseReleased", 100, 430, chromedp.ButtonLeft, chromedp.ClickCount(1)))
			after := v.told(`document.querySelector("[data-large]").scrollLeft + " " + document.querySelector(".large-said").textContent`)
			a, said1, _ := strings.Cut(before, " ")
			z, said2, _ := strings.Cut(after, " ")
			if a == z || said1 != said2 {
				t.Errorf("before the drag %q, after it %q", before, after)
			}

			// By keys alone: 0 shows the whole again, + zooms, arrows and Enter choose points.
			press("Measure")
			v.act(`document.querySelector("[data-large]").focus()`)
			v.Do(chromedp.KeyEvent("0"))
			if v.told(`(() => { const box = document.querySelector("[data-large]"), r = box.querySelector("img").getBoundingClientRect(); return String(r.height <= box.clientHeight + 1 && r.width <= box.clientWidth + 1) })()`) != "true" {
				t.Error("after 0 not all of it is seen")
			}
			whole = wide()
			v.Do(chromedp.KeyEvent("+"))
			if got := wide() / whole; math.Abs(got-1.5) > 0.01 {
				t.Errorf("after + it is %g times as wide", got)
			}
			press("Measure")
			v.act(`document.querySelector("[data-large]").focus()`)
			v.Do(chromedp.KeyEvent(kb.ArrowRight), chromedp.KeyEvent(kb.Enter))
			for range 5 {
				v.Do(chromedp.KeyEvent(kb.ArrowLeft))
			}
			v.Do(chromedp.KeyEvent(kb.Enter))
			scale, _ := strconv.ParseFloat(v.told(`document.querySelector("[data-large] > img").dataset.scale`), 64)
			if want, got := 50/(wide()/1000*scale), v.measured(); math.Abs(got-want) > 1 {
				t.Errorf("50 points of the screen are %g mm, not %g", got, want)
			}
		})
	}
}

// TestDeskLargeInTheBrowser: the desk's picture is zoomed and measured in likewise, also after it was drawn anew, and a
// click in it still goes to the sentence of what it hits.
func TestDeskLargeInTheBrowser(t *testing.T) {
	v := openDesk(t, 1440, "", false)
	if err := os.MkdirAll(v.drafts, 0o700); err != nil {
		t.Fatal(err)
	}
	draft := "style: Square\nunit: cm\nbodies: {A: {hand: 10}}\nbody: A\ndraft square:\n  A: start\n  B: from A out 10\n  C: from B down hand\n  D: from A down hand\n  top: line A to B\n  side: line B to C\n  low: line C to D\n  left: line D to A\n  outline: top, side, low, left\npieces:\n  square: square; cut 1; allowance included\n"
	if err := os.WriteFile(filepath.Join(v.drafts, "square.yaml"), []byte(draft), 0o600); err != nil {
		t.Fatal(err)
	}
	v.Do(chromedp.Navigate(v.address + "/desk/draft/square"))
	v.until("document.querySelector('#count') && document.querySelector('#count').innerText === '1 piece'")
	v.until("document.querySelector('.scale-bar') && !document.querySelector('.scale-bar').hidden")
	// All of it is seen at first, nothing of it hidden in its place.
	const wide = `document.querySelector("#picture > svg:not(.marks)").getBoundingClientRect().width`
	v.until(`document.querySelector("#picture").scrollHeight <= document.querySelector("#picture").clientHeight + 1`)
	v.act("window.first = " + wide)
	for range 2 {
		v.act(`document.querySelector(".large-tools button").click()`)
	}
	v.act(`{ const e = document.querySelector("#text"); window.old = document.querySelector("#picture > svg:not(.marks)"); e.value += "# drawn anew\n"; e.dispatchEvent(new Event("input")) }`)
	v.until(`document.querySelector("#picture > svg:not(.marks)") !== old && document.querySelector("#picture > svg.marks") !== null`)
	if got := v.told("String(Math.round(" + wide + " / first * 100))"); got != "225" {
		t.Errorf("drawn anew the picture is %s %% of what it was at first", got)
	}
	at := func(name string) (x, y float64) {
		t.Helper()
		if _, err := fmt.Sscan(v.told(`(() => { const e = document.querySelector('#picture .handle.point[data-name=`+name+`]'); e.scrollIntoView({ block: "center", inline: "center" }); const r = e.getBoundingClientRect(); return (r.left + r.right) / 2 + " " + (r.top + r.bottom) / 2 })()`), &x, &y); err != nil {
			t.Fatal(err)
		}
		return x, y
	}
	v.act(`[...document.querySelectorAll(".large-tools button")].find(b => b.textContent === "Measure").click()`)
	for _, name := range []string{"A", "B"} {
		x, y := at(name)
		v.Do(chromedp.MouseClickXY(x, y))
	}
	if said := v.told("document.querySelector('.large-said').textContent"); said != "From A to B: 10 cm." {
		t.Errorf("from A to B are 100 mm: %s", said)
	}
	if v.told("document.activeElement.id") == "text" {
		t.Error("a click that measures goes to the sentence")
	}
	v.Sound("desk-large")
	v.act(`[...document.querySelectorAll(".large-tools button")].find(b => b.textContent === "Measure").click()`)
	x, y := at("C")
	v.Do(chromedp.MouseClickXY(x, y))
	v.until(`document.activeElement.id === "text" && document.querySelector("#lit").innerText.includes("C: from B down hand")`)
}

// TestMeasuringGoesToLettersInTheBrowser: a choice some points of the screen beside a lettered point is that point, its letter
// is said above the picture, and the distance is the draft's own: the pocket of the empty sheet is 20 - 4 wide and 20 deep.
func TestMeasuringGoesToLettersInTheBrowser(t *testing.T) {
	for _, width := range []int64{360, 1440} {
		v := openDesk(t, width, "", false)
		v.Do(chromedp.Click(chromedp.CSS(`form:has(#own-name) button`)))
		v.until("document.querySelectorAll('#picture .handle.point').length === 4 && [...document.querySelectorAll('.large-tools button')].some(b => b.textContent === 'Measure')")
		v.act(`[...document.querySelectorAll(".large-tools button")].find(b => b.textContent === "Measure").click()`)
		if v.told(`String(document.querySelector(".large-said").getBoundingClientRect().bottom <= document.querySelector("#picture").getBoundingClientRect().top + 1)`) != "true" {
			t.Error("the prompt does not stand above the picture")
		}
		choose := func(letter string) {
			v.act(`(() => {
				const e = document.querySelector("#picture .handle[data-name=" + ` + strconv.Quote(letter) + ` + "]");
				e.scrollIntoView({ block: "center" });
				const r = e.getBoundingClientRect(), at = { clientX: r.left + r.width / 2 + 4, clientY: r.top + r.height / 2 + 3, bubbles: true };
				e.dispatchEvent(new MouseEvent("click", at));
			})()`)
		}
		for from, to := range map[string][2]string{"A": {"B", "16 cm"}, "D": {"A", "20 cm"}} {
			said, want := "", "From "+from+" to "+to[0]+": "+to[1]+"."
			for range 30 { // a picture that is drawn anew meanwhile begins the choice again
				choose(from)
				choose(to[0])
				if said = v.told(`document.querySelector(".large-said").textContent`); said == want {
					break
				}
				time.Sleep(200 * time.Millisecond)
			}
			if said != want {
				t.Errorf("%d wide: %q", width, said)
			}
		}
		v.Sound(fmt.Sprintf("measured-%d", width))

		// A first choice that meets no letter says so, and leaves the picture where it is for the second.
		const measure, top = `[...document.querySelectorAll(".large-tools button")].find(b => b.textContent === "Measure").click();`, `String(Math.round(document.querySelector("#picture").getBoundingClientRect().top + scrollY))`
		v.act(measure + measure)
		before := v.told(top)
		v.act(`{ const r = document.querySelector("#picture .handle[data-name=A]").getBoundingClientRect(), all = document.querySelector("#picture").getBoundingClientRect();
			const x = r.left + (all.left + all.width / 2 > r.left ? 40 : -40), y = r.top + (all.top + all.height / 2 > r.top ? 40 : -40);
			document.querySelector("#picture").dispatchEvent(new MouseEvent("click", { clientX: x, clientY: y, bubbles: true })) }`)
		if said := v.told(`document.querySelector(".large-said").textContent`); !strings.Contains(said, "No point here: the nearest is A, ") || !strings.Contains(said, " cm away.") {
			t.Errorf("%d wide: beside all letters is said %q", width, said)
		}
		if after := v.told(top); after != before {
			t.Errorf("%d wide: the picture went from %s to %s", width, before, after)
		}
	}
}

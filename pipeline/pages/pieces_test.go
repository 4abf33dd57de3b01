package pages_test

import (
	"errors"
	"fmt"
	"html"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/ledger"
)

// pair is a draft of a small piece that is cut twice and of a long one that is cut as often as is said.
func pair(straps int) []byte {
	return fmt.Appendf(nil, `<svg xmlns="http://www.w3.org/2000/svg" width="9000mm" height="900mm" viewBox="0 0 9000 900"><g data-piece="pocket" data-quantity="2"><path class="cut" d="M0 0H120V100H60L0 80Z"/><path class="grain" d="M50 20V80"/></g>
<g data-piece="strap" data-quantity="%d"><path class="cut" d="M0 300H1400V400H0Z"/><path class="grain" d="M20 350H80"/></g></svg>`, straps)
}

var boxes = regexp.MustCompile(`<input type="checkbox" name="pieces" value="(\d+)"> (\d+) ([^<]*)</label>`)

// offered are the pieces that a page offers to be chosen, as "1 pocket".
func offered(page string) (out []string) {
	for _, m := range boxes.FindAllStringSubmatch(page, -1) {
		if m[1] != m[2] {
			out = append(out, "number "+m[1]+" is called "+m[2])
		}
		out = append(out, m[1]+" "+html.UnescapeString(m[3]))
	}
	return out
}

// TestPiecesAreOffered: an ended job's page offers each piece by its number in the lay's picture and its name; what is
// chosen there is made, also where the numbers come as several boxes.
func TestPiecesAreOffered(t *testing.T) {
	r := newShown(t, nil)
	r.drop("knife-table", "pockets.svg", pair(1), "allowance: included\n")
	if j := r.until(1, "made", made); j.Pieces != 3 {
		t.Fatalf("%d pieces", j.Pieces)
	}
	if err := r.shop.Jobs().Cancel(t.Context(), 1); err != nil {
		t.Fatal(err)
	}
	_, page := r.get("/job/1")
	want := []string{"1 pocket, 1 of 2", "2 pocket, 2 of 2, turned over", "3 strap"}
	if got := offered(page); !slices.Equal(got, want) {
		t.Fatalf("offered are %q", got)
	}
	_, over := r.get("/job/1/over")
	prog, err := r.shop.Jobs().Program(t.Context(), 1)
	if err != nil {
		t.Fatal(err)
	}
	for i, name := range prog.Names { // as the program has them
		if !strings.Contains(over, fmt.Sprintf("<title>%d %s", i+1, name)) {
			t.Errorf("over the picture there is no piece %d %s", i+1, name)
		}
	}
	last, err := r.shop.Jobs().LastEvent(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if status, page := r.post("/job/1/again", url.Values{"seen": {itoa(last)}, "pieces": {"3", "1"}}); status != http.StatusOK {
		t.Fatal(page)
	}
	r.until(2, "made", made)
	if prog, err = r.shop.Jobs().Program(t.Context(), 2); err != nil || !slices.Equal(prog.Names, []string{"pocket", "strap"}) {
		t.Errorf("made are %q, %v", prog.Names, err)
	}
}

// TestOtherClothIsMade: the page of a cutter's job that leaves out the pieces of another cloth makes a job of them.
func TestOtherClothIsMade(t *testing.T) {
	r := newShown(t, nil)
	lined := strings.Replace(string(pair(1)), `data-piece="pocket"`, `data-piece="pocket" data-material="lining"`, 1)
	r.drop("knife-table", "pockets.svg", []byte(lined), "allowance: included\nmaterial: calico\n")
	r.until(1, "made", made)
	_, page := r.get("/job/1")
	for _, want := range []string{`name="cloth" value="lining"`, "Make the pieces of lining", `press &#34;Make the pieces of&#34; and the cloth&#39;s name`} {
		if !strings.Contains(page, want) {
			t.Errorf("the page has no %s", want)
		}
	}
	last, err := r.shop.Jobs().LastEvent(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if status, page := r.post("/job/1/again", url.Values{"seen": {itoa(last)}, "cloth": {"lining"}}); status != http.StatusOK {
		t.Fatal(page)
	}
	r.until(2, "made", made)
	if prog, err := r.shop.Jobs().Program(t.Context(), 2); err != nil || !slices.Equal(prog.Names, []string{"pocket", "pocket"}) {
		t.Errorf("made are %q, %v", prog.Names, err)
	}
}

// TestPiecesOfARefusedDraft: in its picture the numbers are those of findings, so its pieces are offered by name and
// their own numbers; and those that are chosen so are made.
func TestPiecesOfARefusedDraft(t *testing.T) {
	r := newShown(t, nil)
	r.drop("knife-table", "pockets.svg", pair(11), "allowance: included\n")
	j := r.until(1, "refused", func(j ledger.Job) bool { return j.State == ledger.Aborted })
	_, page := r.get("/job/1")
	if !strings.Contains(page, "The numbers in this picture are those of findings, not of pieces.") {
		t.Error("nothing says what the numbers are")
	}
	got := offered(page)
	if len(got) != 13 || got[0] != "1 pocket, 1 of 2" || got[1] != "2 pocket, 2 of 2, turned over" || !strings.HasPrefix(got[12], "13 strap, 11 of 11") {
		t.Fatalf("offered of %d pieces are %q:\n%s", j.Pieces, got, page)
	}
	var no *control.Refusal
	if _, _, err := r.shop.Jobs().AgainPieces(t.Context(), 1, "14", ""); !errors.As(err, &no) || no.Hint != "1-2 (pocket), 3-13 (strap)" {
		t.Errorf("a number that is none: %+v", err)
	}
	last, err := r.shop.Jobs().LastEvent(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if status, page := r.post("/job/1/again", url.Values{"seen": {itoa(last)}, "pieces": {"1", "2"}}); status != http.StatusOK {
		t.Fatal(page)
	}
	r.until(2, "made", made)
	if prog, err := r.shop.Jobs().Program(t.Context(), 2); err != nil || !slices.Equal(prog.Names, []string{"pocket", "pocket"}) {
		t.Errorf("made are %q, %v", prog.Names, err)
	}
}

// TestPiecesWithoutNumbers: a job that was refused before it was laid says what its pieces are called and what mends it; so
// does one whose ticket is bad.
func TestPiecesWithoutNumbers(t *testing.T) {
	r := newShown(t, nil)
	refused := func(j ledger.Job) bool { return j.State == ledger.Aborted }
	r.drop("knife-table", "gap.svg", []byte(`<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="300mm" viewBox="0 0 300 300"><g data-piece="flap" data-quantity="2"><path class="cut" d="M10 10H210V110L10 110L10 40"/></g></svg>`), "")
	r.until(1, "refused", refused)
	r.drop("knife-table", "pockets.svg", pair(1), "bdy: A\n")
	r.until(2, "refused", refused)
	for id, want := range map[int64]string{
		1: "job 1 was refused before its pieces had numbers",
		2: "job 2 was refused before its pieces were known",
	} {
		_, _, err := r.shop.Jobs().AgainPieces(t.Context(), id, "1", "")
		if err == nil || !strings.Contains(err.Error(), want) || id == 1 && !strings.Contains(err.Error(), "they are flap") {
			t.Errorf("%d: %v", id, err)
		}
		if _, page := r.get("/job/" + itoa(id)); len(offered(page)) > 0 {
			t.Errorf("%d: offered are %q", id, offered(page))
		}
	}
}

// TestPictureWithoutNumbers: the picture of a job whose only fault is of the other draft, which has nothing to draw, bears no
// number, and the page does not speak of numbers.
func TestPictureWithoutNumbers(t *testing.T) {
	r := newShown(t, nil)
	sound := `<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="300mm" viewBox="0 0 300 300"><g data-piece="flap" data-quantity="1"><path class="cut" d="M0 0H100V100H0Z"/><path class="sew" d="M10 10H90V90H10Z"/><path class="grain" d="M50 20V80"/></g></svg>`
	r.drop("roll-plotter", "flap.svg.ticket.yaml", []byte("with: [scribble.svg]\n"), "")
	r.drop("roll-plotter", "scribble.svg", []byte(`<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="300mm" viewBox="0 0 300 300"><path d="M10 10H20"/></svg>`), "")
	r.drop("roll-plotter", "flap.svg", []byte(sound), "")
	r.until(1, "refused", func(j ledger.Job) bool { return j.State == ledger.Aborted })
	_, page := r.get("/job/1")
	if !strings.Contains(page, `id="picture"`) || !strings.Contains(page, "scribble.svg: no outline of a piece") {
		t.Fatalf("no picture, or another fault:\n%s", page)
	}
	if strings.Contains(page, "numbers in this picture") || strings.Contains(page, "ringed and numbered") {
		t.Error("the page speaks of numbers that are not there")
	}
}

// TestFindingsShowTheirPlaces: a finding's number in the list is that in the picture, and its link leads, without
// scripts, to the picture with that finding ringed; of a draft that is refused, and of one that is made.
func TestFindingsShowTheirPlaces(t *testing.T) {
	r := newShown(t, nil)
	r.drop("roll-plotter", "gap.svg", []byte(`<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="300mm" viewBox="0 0 300 300"><g data-piece="flap" data-quantity="1"><path class="cut" d="M10 10H210V110L10 110L10 40"/></g></svg>`), "")
	r.until(1, "refused", func(j ledger.Job) bool { return j.State == ledger.Aborted })
	r.findingsShown("/job/1")
	r.drop("roll-plotter", "pockets.svg", pair(1), "allowance: included\n")
	r.until(2, "made", made)
	if _, page := r.get("/job/2"); !strings.Contains(page, "those of pieces, not of findings") || !strings.Contains(page, `<a href="/job/2?draft#picture">`) {
		t.Errorf("beside the lay, whose numbers are those of pieces, nothing leads to the draft with its findings:\n%s", page)
	}
	r.findingsShown("/job/2")
}

// findingsShown follows the links from a job's findings to their places.
func (r *shown) findingsShown(path string) {
	t := r.t
	t.Helper()
	_, page := r.get(path)
	links := regexp.MustCompile(`<span class="number">(\d+)</span>[\s\S]*?class="show" href="([^"]*)" data-finding="(\d+)" data-place="([-\d.]+) ([-\d.]+)"`).FindAllStringSubmatch(page, -1)
	if len(links) == 0 {
		t.Fatalf("no finding shows its place:\n%s", page)
	}
	for _, m := range links {
		if m[1] != m[3] {
			t.Errorf("finding %s leads to %s", m[1], m[3])
		}
		_, there := r.get(strings.TrimSuffix(html.UnescapeString(m[2]), "#picture"))
		img := regexp.MustCompile(`<img class="over" src="([^"]*)"`).FindStringSubmatch(there)
		if img == nil {
			t.Fatalf("nothing is drawn over the picture:\n%s", there)
		}
		_, over := r.get(html.UnescapeString(img[1]))
		if !strings.Contains(over, fmt.Sprintf(`class="place" cx="%s" cy="%s"`, m[4], m[5])) {
			t.Errorf("finding %s is not ringed at %s %s: %s", m[1], m[4], m[5], over)
		}
	}
}

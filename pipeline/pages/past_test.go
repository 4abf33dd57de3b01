package pages_test

import (
	"html"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"tracewheel/config/samples"
	"tracewheel/pipeline/ledger"
)

// TestOrdersAreFound: a job is found by what its ticket says and by the names of its pieces; a production shows its
// garments, the next fitting first, and what two people ticked of one garment at the same time is all kept.
func TestOrdersAreFound(t *testing.T) {
	r := newShown(t, nil)
	r.drop("office-printer", "apron.svg", samples.Read("stagehand-apron.svg"), "production: Harbour Lights\nwearer: first stagehand\ndue: 2026-03-20\nmaterial: paper\n")
	r.until(1, "done", func(j ledger.Job) bool { return j.State == ledger.Completed })
	r.drop("roll-plotter", "crown.svg", samples.Read("leaf-crown.svg"), "production: Harbour Lights\nwearer: the mermaid\ndue: 2026-03-14\n")
	r.until(2, "made", made)
	r.drop("roll-plotter", "again.svg", samples.Read("leaf-crown.svg"), "due: Friday\n")
	if j := r.until(3, "refused", func(j ledger.Job) bool { return j.State == ledger.Aborted }); !strings.Contains(j.Reason, "write it as 2026-03-14") {
		t.Errorf("a fitting on Friday: %s", j.Reason)
	}
	pieces, err := r.shop.Jobs().PieceList(t.Context(), 1)
	if err != nil || len(pieces) == 0 {
		t.Fatalf("%+v, %v", pieces, err)
	}
	found := regexp.MustCompile(`<td class="n" data-of="Job"><a href="/job/(\d+)">`)
	for query, want := range map[string][]string{"wearer=MERMAID": {"2"}, "production=harbour": {"2", "1"}, "due=2026-03-20": {"1"}, "material=paper": {"3", "2", "1"},
		"piece=" + url.QueryEscape(pieces[0].Name): {"1"}, "word=crown": {"2"}, "word=nothing-like-it": nil,
		"word=2": {"2"}, "word=%231": {"1"}, "word=Job+%233": {"3"}, "word=4": nil, "word=2&device=office-printer": nil} {
		_, page := r.get("/past?" + query)
		var got []string
		for _, m := range found.FindAllStringSubmatch(page, -1) {
			got = append(got, m[1])
		}
		if query == "material=paper" { // what lies on the roll unsaid
			got = slices.DeleteFunc(got, func(id string) bool { return id == "3" })
			want = want[1:]
		}
		if !slices.Equal(got, want) {
			t.Errorf("%s finds %v, not %v", query, got, want)
		}
	}
	for query, want := range map[string]string{"due=Friday": "fitting on: &#34;Friday&#34; is no day; write it as 2026-03-14", "since=nonsense": "received since: &#34;nonsense&#34; is no day; write it as"} {
		if _, page := r.get("/past?" + query); !strings.Contains(page, want) || found.MatchString(page) || strings.Contains(page, "No job matches") {
			t.Errorf("%s: a day that is none is not told, or jobs are listed:\n%s", query, page)
		}
	}
	if _, page := r.get("/production"); !strings.Contains(page, `href="/production?name=Harbour%20Lights"`) && !strings.Contains(page, `href="/production?name=Harbour&#43;Lights"`) {
		t.Errorf("the production is not listed: %s", page)
	}
	if _, page := r.get("/production?name=harbour"); !strings.Contains(page, "for a production of exactly this name") || !strings.Contains(page, `/production?name=Harbour`) {
		t.Errorf("a part of a name is not told to be one: %s", page)
	}
	_, page := r.get("/production?name=Harbour+Lights")
	if one, two := strings.Index(page, `id="g-1"`), strings.Index(page, `id="g-2"`); one < 0 || two < 0 || two > one {
		t.Errorf("the next fitting is not first: %d, %d", two, one)
	}

	if two := page[strings.Index(page, `id="g-2"`):strings.Index(page, `id="g-1"`)]; strings.Contains(two, `type="checkbox"`) || !strings.Contains(two, "Nothing of it is made yet") {
		t.Errorf("a garment that was never sent has ticks: %s", two)
	}
	for job, ticks := range map[string]bool{"1": true, "2": false, "3": false} {
		if _, page := r.get("/job/" + job); strings.Contains(page, `class="ticks"`) != ticks {
			t.Errorf("job %s: ticks %v wanted", job, ticks)
		}
	}
	form := url.Values{"back": {"/production?name=Harbour+Lights"}}
	for _, m := range regexp.MustCompile(`name="box" value="([^"]+)"`).FindAllStringSubmatch(page[strings.Index(page, `id="g-1"`):], -1) {
		form.Add("box", html.UnescapeString(m[1]))
	}
	key := func(what string) string {
		return url.Values{"what": {what}, "name": {pieces[0].Name}, "size": {pieces[0].Size}}.Encode()
	}
	for _, what := range []string{"cut", "sewn"} { // two pages that were shown before either was pressed
		press := url.Values{"back": form["back"], "box": form["box"], "is": {key(what)}}
		if status, said := r.post("/job/1/tick", press); status != http.StatusOK || !strings.Contains(said, "Harbour Lights") {
			t.Fatalf("ticking: %d, %s", status, said)
		}
	}
	pieces, err = r.shop.Jobs().PieceList(t.Context(), 1)
	if err != nil || !pieces[0].Cut || !pieces[0].Sewn || pieces[0].Bundled {
		t.Errorf("%+v, %v", pieces, err)
	}
	if status, _ := r.post("/job/1/tick", url.Values{"box": {"what=state&name=x"}, "is": {"what=state&name=x"}}); status != http.StatusConflict {
		t.Errorf("a tick of nothing: %d", status)
	}
	events, err := r.shop.Jobs().Events(t.Context(), 1)
	if err != nil || !slices.ContainsFunc(events, func(e ledger.Event) bool {
		return e.Kind == "ticked" && strings.Contains(e.Text, pieces[0].Name+" cut (on the page)")
	}) {
		t.Errorf("the history does not say who ticked: %+v, %v", events, err)
	}
}

// TestUntakenIsShown: a draft that never becomes a job is told on the first page and on the one for dropping.
func TestUntakenIsShown(t *testing.T) {
	r := newShown(t, nil)
	if err := os.Mkdir(filepath.Join(r.dir, "inbox", "roll-plotter", "sleeves"), 0o700); err != nil {
		t.Fatal(err)
	}
	for late := time.Now().Add(time.Minute); len(r.shop.Jobs().Untaken()) == 0 && time.Now().Before(late); {
		time.Sleep(20 * time.Millisecond)
	}
	for _, path := range []string{"/", "/drop"} {
		if _, page := r.get(path); !strings.Contains(page, "roll-plotter/sleeves</b>: folders are left alone") {
			t.Errorf("%s does not tell of it", path)
		}
	}
}

// TestPiecesAgain: of an ended job some pieces are made again, by their numbers in its picture, and of that job again
// by its own.
func TestPiecesAgain(t *testing.T) {
	r := newShown(t, nil)
	r.drop("roll-plotter", "apron.svg", samples.Read("stagehand-apron.svg"), "")
	first := r.until(1, "made", made)
	if first.Pieces < 3 {
		t.Fatalf("%d pieces", first.Pieces)
	}
	if err := r.shop.Jobs().Cancel(t.Context(), 1); err != nil {
		t.Fatal(err)
	}
	again := func(of, to int64, pieces string) ([]string, string) {
		t.Helper()
		last, err := r.shop.Jobs().LastEvent(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		status, page := r.post("/job/"+itoa(of)+"/again", url.Values{"seen": {itoa(last)}, "pieces": {pieces}})
		if status != http.StatusOK {
			return nil, page
		}
		r.until(to, "made", made)
		if err := r.shop.Jobs().Cancel(t.Context(), to); err != nil {
			t.Fatal(err)
		}
		p, err := r.shop.Jobs().Program(t.Context(), to)
		if err != nil {
			t.Fatal(err)
		}
		return p.Names, page
	}
	whole, err := r.shop.Jobs().Program(t.Context(), 1)
	if err != nil {
		t.Fatal(err)
	}
	some, _ := again(1, 2, "2-3")
	if !slices.Equal(some, whole.Names[1:3]) {
		t.Errorf("pieces 2-3 of %q are %q", whole.Names, some)
	}
	if one, _ := again(2, 3, "2"); !slices.Equal(one, whole.Names[2:3]) {
		t.Errorf("piece 2 of %q is %q", some, one)
	}
	if _, page := again(3, 4, "2"); !strings.Contains(page, "no such piece 2; there are 1") {
		t.Errorf("a piece that is not there: %s", page)
	}
}

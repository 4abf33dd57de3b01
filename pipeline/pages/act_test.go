package pages_test

import (
	"bytes"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"tracewheel/config/samples"
	"tracewheel/devices/knife"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/remote"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/store"
)

// TestCutterFromAPage: a page that the terminal did not pair lets no cutter go, whatever its form says; a button of a
// page that the job has moved on from does nothing; a cancel is carried out all the same.
func TestCutterFromAPage(t *testing.T) {
	r := newShown(t, nil)
	shop := r.shop
	r.drop("knife-table", "leaf-crown.svg", samples.Read("leaf-crown.svg"), "")
	state := func() ledger.Job {
		t.Helper()
		j, err := shop.Jobs().Job(t.Context(), 1)
		if err != nil {
			return ledger.Job{}
		}
		return j
	}
	for deadline := time.Now().Add(time.Minute); !state().Ready; time.Sleep(20 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatalf("the cut is not made: %+v", state())
		}
	}

	released := func() bool {
		t.Helper()
		was, err := shop.Jobs().Happened(t.Context(), "knife-table", "release", control.ReleaseSaid(true), time.Time{})
		if err != nil {
			t.Fatal(err)
		}
		return was
	}
	// What waits for a person stands in the list above; its device is not said to have nothing that waits.
	{
		_, page := r.get("/")
		_, column, _ := strings.Cut(page, `id="d-knife-table"`)
		column, _, _ = strings.Cut(column, "</section>")
		if !strings.Contains(column, `href="/job/1"`) || strings.Contains(column, "Nothing waits") {
			t.Errorf("the knife table with a job that waits for its release:\n%s", column)
		}
	}
	// A list and the job's page say how much of its material it takes.
	for _, path := range []string{"/", "/job/1"} {
		want := fmt.Sprintf("&middot; %s mm of %s", pattern.Tenths(state().Laid), state().Material)
		if _, page := r.get(path); state().Laid < 100 || !strings.Contains(page, want) {
			t.Errorf("%s does not say %q", path, want)
		}
	}
	post := r.post
	last, err := shop.Jobs().LastEvent(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	seen := url.Values{"seen": {itoa(last)}, "said": {string(control.BedClear)}}
	const full = "<h2>Before the machine moves</h2>"
	for _, path := range []string{"/job/1", "/device/knife-table"} {
		if _, page := r.get(path); !strings.Contains(page, full) {
			t.Errorf("%s lacks the cautions before the day's first release", path)
		}
	}
	if status, said := post("/job/1/release", seen); status != http.StatusForbidden || !strings.Contains(said, "release it at the machine") || released() {
		t.Errorf("an unpaired release: %d, %s", status, state().State)
	}
	client, err := remote.Dial(t.Context(), r.room.Path(r.room.Folders.Store))
	if err != nil {
		t.Fatal(err)
	}
	defer client.Close() //nolint:errcheck // only asked
	pair, err := client.Page(t.Context(), control.PagePair, 0)
	if err != nil {
		t.Fatal(err)
	}
	if status, _ := post("/pair", url.Values{"code": {pair}}); status != http.StatusOK {
		t.Fatalf("not paired: %d", status)
	}
	old := url.Values{"seen": {itoa(last - 1)}, "said": {string(control.BedClear)}}
	if status, _ := post("/job/1/release", old); status != http.StatusConflict || released() {
		t.Errorf("a release of an old page: %d, %s", status, state().State)
	}
	if status, _ := post("/job/1/release", url.Values{"seen": {itoa(last)}}); status != http.StatusConflict || released() {
		t.Errorf("a release without the word: %d, %s", status, state().State)
	}
	if status, said := post("/job/1/release", seen); status != http.StatusOK || !released() {
		t.Errorf("a paired release: %d, %s, %s", status, state().State, said)
	}
	// After it they are one line, which opens into all of them, here and for the next job.
	r.drop("knife-table", "second.svg", samples.Read("leaf-crown.svg"), "")
	r.until(2, "made", made)
	for _, path := range []string{"/job/2", "/device/knife-table"} {
		_, page := r.get(path)
		if strings.Contains(page, full) || !strings.Contains(page, "cautions were shown before today's first release") {
			t.Errorf("%s after the day's first release:\n%s", path, page)
		}
		for _, c := range knife.Cautions() {
			if !strings.Contains(page, strings.ReplaceAll(c, "'", "&#39;")) {
				t.Errorf("%s does not open into: %s", path, c)
			}
		}
	}
	if status, _ := post("/job/1/cancel", old); status != http.StatusOK {
		t.Errorf("a cancel of an old page: %d", status)
	}
	for deadline := time.Now().Add(time.Minute); state().State != ledger.Canceled; time.Sleep(20 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatalf("a cancel of an old page leaves %s", state().State)
		}
	}
	events, err := shop.Jobs().Events(t.Context(), 1)
	asked := 0
	for _, e := range events {
		if strings.HasSuffix(e.Text, "(on the page)") {
			asked++
		}
	}
	if err != nil || asked != 2 {
		t.Errorf("the history does not say that a page asked for release and cancel: %+v %v", events, err)
	}
}

func itoa(n int64) string { return strconv.FormatInt(n, 10) }

// TestWhatToDoComesFirst: what needs a person stands above all devices, and on a job that waits for one the cautions,
// what to do and then the notes, however many; of one that is refused its findings are what to look at.
func TestWhatToDoComesFirst(t *testing.T) {
	r := newShown(t, nil)
	r.drop("knife-table", "smock.yaml", samples.Read("ferry-smock.yaml"), "")
	r.until(1, "held", func(j ledger.Job) bool { return j.State == ledger.Held })
	r.drop("knife-table", "faulty.svg", samples.Read("usher-waistcoat.svg"), "")
	r.until(2, "refused", func(j ledger.Job) bool { return j.State == ledger.Aborted })
	inOrder := func(path string, parts ...string) {
		t.Helper()
		_, page := r.get(path)
		last := -1
		for _, p := range parts {
			at := strings.Index(page, p)
			if at <= last {
				t.Errorf("%s: %q does not come after what is before it in %q: %d, %d\n%s", path, p, parts, at, last, page)
			}
			last = at
		}
	}
	inOrder("/job/1", `<p class="state"`, `<h2>Before the machine moves</h2>`, `<h2 id="do">What to do</h2>`, `<a href="#findings">`, `<h2 id="findings">`, `<li class="note">`, `<h2>To download</h2>`)
	inOrder("/job/2", `<p class="state"`, `<h2 id="findings">`, `<h2 id="do">What to do</h2>`)
	inOrder("/", `Needs you: 2 jobs`, `href="/job/1"`, `href="/job/2"`, `id="d-desk-plotter"`)
}

// TestRefusedReportAsPDF: the PDF of a refused draft's report lies beside the page that came back with it, and the
// job's page leads to the same bytes. It goes when the job is old, as the page does.
func TestRefusedReportAsPDF(t *testing.T) {
	r := newShown(t, nil)
	r.drop("roll-plotter", "faulty.svg", samples.Read("usher-waistcoat.svg"), "")
	r.until(1, "refused", func(j ledger.Job) bool { return j.State == ledger.Aborted })
	back, err := os.ReadFile(filepath.Join(r.dir, "returned", "faulty-job1", "report.pdf"))
	if err != nil || !bytes.HasPrefix(back, []byte("%PDF-")) {
		t.Fatalf("%.20q %v", back, err)
	}
	_, page := r.get("/job/1")
	if !strings.Contains(page, `<a href="/job/1/file/report-report.pdf">the report as PDF</a>`) {
		t.Errorf("no link on the page:\n%s", page)
	}
	if status, got := r.get("/job/1/file/report-report.pdf"); status != http.StatusOK || got != string(back) {
		t.Errorf("%d, %d bytes, not the %d that came back", status, len(got), len(back))
	}
	for _, name := range []string{"report-report.pdf", "report-report.html", "report-report.txt", "report-picture.png"} {
		if !store.Passing(name) {
			t.Errorf("%s stays for good", name)
		}
	}
}

// TestNextOnAPage: of two jobs that wait, the later one has a button that puts it first; then it has none, stands first
// on its device's page and the other has the button.
func TestNextOnAPage(t *testing.T) {
	r := newShown(t, nil)
	for id, name := range []string{"smock.yaml", "smock-2.yaml"} {
		r.drop("knife-table", name, samples.Read("ferry-smock.yaml"), "")
		r.until(int64(id+1), "held", func(j ledger.Job) bool { return j.State == ledger.Held })
	}
	button := func(job string) bool {
		_, page := r.get("/job/" + job)
		return strings.Contains(page, `action="/job/`+job+`/next"`)
	}
	if button("1") || !button("2") {
		t.Error("the first has the button, or the second has none")
	}
	last, err := r.shop.Jobs().LastEvent(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	name := strings.Repeat("\u00fc", 70)
	if status, _ := r.post("/who", url.Values{"who": {name}}); status != http.StatusOK {
		t.Errorf("a name is answered by %d", status)
	}
	if status, said := r.post("/job/2/next", url.Values{"seen": {itoa(last)}}); status != http.StatusOK || !strings.Contains(said, "next: put before the others of knife-table by a person (on the page, &#34;"+name[:120]+"&#34;)") {
		t.Errorf("%d %s", status, said)
	}
	if !button("1") || button("2") {
		t.Error("the one that goes first has the button, or the other has none")
	}
	_, page := r.get("/device/knife-table")
	if first, second := strings.Index(page, `href="/job/2"`), strings.Index(page, `href="/job/1"`); first < 0 || second < first {
		t.Errorf("on the device's page they stand at %d and %d", first, second)
	}
}

// TestBladeIsChangedOnAPage: the device's page counts what its blade has cut, and has a button for a change; pressed on a
// page that knows an older change it does nothing.
func TestBladeIsChangedOnAPage(t *testing.T) {
	r := newShown(t, nil)
	if _, page := r.get("/device/knife-table"); !strings.Contains(page, "Nothing is counted yet.") || !strings.Contains(page, "The blade was changed") {
		t.Errorf("at first:\n%s", page)
	}
	if status, page := r.post("/device/knife-table/changed", url.Values{"last": {"0"}}); status != http.StatusOK || !strings.Contains(page, "its blade has cut 0.0 m since it was changed on") || !strings.Contains(page, "(on the page)") {
		t.Errorf("%d\n%s", status, page)
	}
	for _, last := range []string{"0", "", "-1", "x"} {
		if status, _ := r.post("/device/knife-table/changed", url.Values{"last": {last}}); status != http.StatusConflict && status != http.StatusBadRequest {
			t.Errorf("a page that knows change %q: %d", last, status)
		}
	}
	if tool, err := r.shop.Jobs().Tool(t.Context(), "knife-table"); err != nil || len(tool.Changes) != 1 {
		t.Errorf("%+v, %v", tool, err)
	}
}

// TestNoBrokenPictures: every picture that a page shows of a job is there: sheets are shown by their pieces, and a file that
// cannot be read has none.
func TestNoBrokenPictures(t *testing.T) {
	r := newShown(t, nil)
	r.drop("office-printer", "stagehand-apron.svg", samples.Read("stagehand-apron.svg"), "")
	r.until(1, "done", func(j ledger.Job) bool { return j.State == ledger.Completed })
	r.drop("office-printer", "no-draft.svg", []byte("<svg xmlns='http://www.w3.org/2000/svg' width='9mm' height='9mm' viewBox='0 0 9 9'><path"), "")
	r.until(2, "refused", func(j ledger.Job) bool { return j.State == ledger.Aborted })
	r.drop("roll-plotter", "faulty.svg", samples.Read("usher-waistcoat.svg"), "")
	r.until(3, "refused", func(j ledger.Job) bool { return j.State == ledger.Aborted })
	shown := map[string]bool{}
	for _, path := range []string{"/", "/past", "/job/1", "/job/2", "/job/3", "/device/office-printer"} {
		_, page := r.get(path)
		for _, m := range regexp.MustCompile(`<img src="(/job/\d+/picture)(?:\?of=[0-9a-f]+)?"`).FindAllStringSubmatch(page, -1) {
			shown[m[1]] = true
			if status, text := r.get(m[1]); status != http.StatusOK || !strings.Contains(text, "<svg") {
				t.Errorf("%s shows %s: %d", path, m[1], status)
			}
		}
	}
	if !shown["/job/1/picture"] || shown["/job/2/picture"] || !shown["/job/3/picture"] {
		t.Errorf("shown are %v", shown)
	}
}

// TestWhereAFaultIs: of a measured draft that cannot be drawn the page says in which line the fault is, as its report does,
// and promises no picture.
func TestWhereAFaultIs(t *testing.T) {
	r := newShown(t, nil)
	skirt := strings.Replace(string(samples.Read("half-circle-skirt.yaml")), "outline: waist, side, hem, centre on the fold", "outline: waist, side, hem", 1)
	r.drop("roll-plotter", "skirt.yaml", []byte(skirt), "")
	r.until(1, "refused", func(j ledger.Job) bool { return j.State == ledger.Aborted })
	before, _, _ := strings.Cut(skirt, "  outline: waist, side, hem\n")
	want := "line " + itoa(int64(strings.Count(before, "\n")+1)) + ", column "
	_, page := r.get("/job/1")
	if !strings.Contains(page, want) || strings.Contains(page, "No picture yet") {
		t.Errorf("the page does not say %q:\n%s", want, page)
	}
}

package pages_test

import (
	"bytes"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/jobpicture"
	"tracewheel/pipeline/ledger"
)

// mostOnTheWire is what a page may take with its pictures, its style and its scripts, as bytes on the wire.
const mostOnTheWire = 150_000

// wire is what a browser that was never there gets of an address: the bytes that travel, compressed, with what the page loads.
func (r *shown) wire(path string) (n int64, loads int) {
	r.t.Helper()
	one := func(path string) int64 {
		req, err := http.NewRequestWithContext(r.t.Context(), http.MethodGet, r.address+path, nil)
		if err != nil {
			r.t.Fatal(err)
		}
		req.Header.Set("Accept-Encoding", "gzip") // which has the client leave the body as it came
		resp, err := r.browser.Do(req)
		if err != nil {
			r.t.Fatal(err)
		}
		defer resp.Body.Close() //nolint:errcheck // read whole
		all, err := io.ReadAll(resp.Body)
		if err != nil || resp.StatusCode != http.StatusOK {
			r.t.Fatalf("%s: %d %v", path, resp.StatusCode, err)
		}
		return int64(len(all))
	}
	_, text := r.get(path)
	n = one(path)
	for _, m := range regexp.MustCompile(`(?:src|href)="(/static/[^"]*|/job/[0-9]+/(?:picture|over|lay/picture)[^"]*)"`).FindAllStringSubmatch(text, -1) {
		if strings.HasPrefix(m[0], "href") && !strings.Contains(m[1], "/static/") {
			continue // a link
		}
		n += one(strings.ReplaceAll(m[1], "&amp;", "&"))
		loads++
	}
	return n, loads
}

// TestPagesAreSmallOnTheWire: each page with its pictures, style and scripts is below 150 kB on the wire: the first page with
// many jobs, a job's, a device's, and that of a production of many garments, which comes in pages.
func TestPagesAreSmallOnTheWire(t *testing.T) {
	r := newShown(t, nil)
	const garments = 12
	held := func(j ledger.Job) bool { return j.State == ledger.Held }
	r.drop("knife-table", "smock.yaml", samples.Read("ferry-smock.yaml"), "production: Harbour Lights\n")
	r.until(1, "held", held)
	for i := range garments - 1 {
		r.drop("knife-table", fmt.Sprintf("apron-%d.svg", i), samples.Read("stagehand-apron.svg"), "production: Harbour Lights\n")
	}
	for id := int64(2); id <= garments; id++ {
		r.until(id, "held", held)
	}
	for _, path := range []string{"/", "/job/1", "/job/1/lay", "/device/knife-table", "/device/roll-plotter", "/past", "/production?name=Harbour+Lights", "/settings", "/browsers", "/drop"} {
		if n, loads := r.wire(path); n > mostOnTheWire || loads < 1 {
			t.Errorf("%s takes %d bytes with the %d things that it loads", path, n, loads)
		}
	}
	_, page := r.get("/production?name=Harbour+Lights")
	if got := strings.Count(page, `class="garment"`); got != 10 || !strings.Contains(page, `href="/production?name=Harbour%20Lights&amp;page=2">page 2`) {
		t.Errorf("the first page of a production has %d garments", got)
	}
	if _, page = r.get("/production?name=Harbour+Lights&page=2"); strings.Count(page, `class="garment"`) != garments-10 {
		t.Errorf("the second page: %s", page)
	}
}

// TestSmallPicture: the picture of a card has the lines of the whole one within its grid, and less than half of its bytes.
func TestSmallPicture(t *testing.T) {
	r := newShown(t, nil)
	r.drop("knife-table", "smock.yaml", samples.Read("ferry-smock.yaml"), "")
	r.until(1, "held", func(j ledger.Job) bool { return j.State == ledger.Held })
	_, whole := r.get("/job/1/picture")
	_, small := r.get("/job/1/picture?small")
	if len(small) > len(whole)/2 || !strings.HasPrefix(small, "<svg ") || !strings.HasSuffix(small, "</svg>\n") {
		t.Errorf("%d bytes of %d: %.200s", len(small), len(whole), small)
	}
	if again := jobpicture.Small([]byte(whole)); !bytes.Equal(again, []byte(small)) {
		t.Error("the same picture is made small in two ways")
	}
	square := `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 3000 100"><path stroke="#000000" d="M1 2L1004 2.4L1004 98Z"/>` + "\n" + `<path d="M50 50L51 50.5"/>` + "\n</svg>"
	if got := string(jobpicture.Small([]byte(square))); !strings.Contains(got, `d="M0 0L1000 0L1000 100Z"`) || strings.Count(got, "<path") != 1 {
		t.Errorf("by a grid of 10: %s", got)
	}
}

// TestSettingsAreRead: the page of settings, linked from every page, tells the file, its values and lines; nothing is written by it.
func TestSettingsAreRead(t *testing.T) {
	r := newShown(t, nil)
	if _, page := r.get("/"); !strings.Contains(page, `<a href="/settings">Settings</a>`) {
		t.Error("the first page does not lead there")
	}
	status, page := r.get("/settings")
	for _, want := range []string{r.room.File, "Device knife-table", "<code>devices.knife-table.kind</code>", "<code>units</code>"} {
		if status != http.StatusOK || !strings.Contains(page, want) {
			t.Errorf("%d, no %q", status, want)
		}
	}
	if strings.Contains(page, `method="post"`) {
		t.Error("something is written there")
	}
	if status, _ := r.post("/settings", url.Values{"units": {"in"}}); status != http.StatusMethodNotAllowed {
		t.Errorf("a POST: %d", status)
	}
}

// TestInchesOfADevice: in a workroom of inches its page tells lengths in inches (1 in = 25.4 mm, by the agreement of 1959).
func TestInchesOfADevice(t *testing.T) {
	r := newShown(t, strings.NewReplacer("units: mm", "units: in"))
	d := r.room.Devices["knife-table"]
	_, page := r.get("/device/knife-table")
	_, reach, _ := strings.Cut(page, `<th scope="row">Reach</th><td>`)
	reach, _, _ = strings.Cut(reach, "</td>")
	long, wide, _ := strings.Cut(reach, " by ")
	if long, wide := mmOf(t, long+"in"), mmOf(t, wide); long < d.Length-0.4 || long > d.Length+0.4 || wide < d.Width-0.4 || wide > d.Width+0.4 {
		t.Errorf("%q for %g by %g mm", reach, d.Length, d.Width)
	}
	_, offset, _ := strings.Cut(page, `<th scope="row">Blade offset</th><td>`)
	if offset, _, _ = strings.Cut(offset, "</td>"); !strings.HasSuffix(offset, " in") {
		t.Errorf("the blade offset is told as %q", offset)
	}
}

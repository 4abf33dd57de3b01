package pages_test

import (
	"bufio"
	"encoding/json"
	"fmt"
	"net/http"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/ledger"
)

// heard reads a stream up to the event of a name, and gives its number and what else came.
func (r *shown) heard(path string, header http.Header, until string) (no int64, before string) {
	r.t.Helper()
	req, err := http.NewRequestWithContext(r.t.Context(), http.MethodGet, r.address+path, nil)
	if err != nil {
		r.t.Fatal(err)
	}
	for name := range header {
		req.Header.Set(name, header.Get(name))
	}
	resp, err := r.browser.Do(req)
	if err != nil {
		r.t.Fatal(err)
	}
	defer resp.Body.Close() //nolint:errcheck // only read
	in := bufio.NewReader(resp.Body)
	for !strings.Contains(before, "event: "+until+"\n") || !strings.HasSuffix(before, "\n\n") {
		line, err := in.ReadString('\n')
		if err != nil {
			r.t.Fatalf("%s: %q: %v", path, before, err)
		}
		before += line
	}
	last := before[strings.LastIndex(before, "data: ")+6:]
	if err := json.Unmarshal([]byte(last), &no); err != nil {
		r.t.Fatalf("%q: %v", before, err)
	}
	return no, before
}

// TestNothingIsMissedBeforeTheStream: what happens between the making of a page and the opening of its stream is told when
// the stream opens, by the number that the page bears; a stream that was lost begins from the last event that came (HTML
// Living Standard 9.2.3, Last-Event-ID). What is told holds no name of a wearer and no measure.
func TestNothingIsMissedBeforeTheStream(t *testing.T) {
	r := newShown(t, nil)
	_, page := r.get("/")
	m := regexp.MustCompile(`<main [^>]*data-seen="(\d+)"`).FindStringSubmatch(page)
	if m == nil {
		t.Fatalf("the page bears no number:\n%s", page)
	}
	seen, err := strconv.ParseInt(m[1], 10, 64)
	if err != nil {
		t.Fatal(err)
	}
	if last, _ := r.heard("/events?after="+m[1], nil, "changed"); last != seen {
		t.Errorf("nothing happened, the page has %d, and the stream begins with %d", seen, last)
	}
	r.drop("roll-plotter", "usher-waistcoat.svg", samples.Read("usher-waistcoat.svg"), "wearer: Ottilie Quince\n")
	r.until(1, "refused", func(j ledger.Job) bool { return j.State == ledger.Aborted })
	last, said := r.heard("/events?after="+m[1], nil, "changed")
	if last <= seen || strings.Count(said, "event: tell\n") != 1 || !strings.Contains(said, `"job":1,"what":"refused","device":"roll-plotter"}`) {
		t.Errorf("after %d the stream begins with\n%s", seen, said)
	}
	if strings.Contains(said, "Ottilie") || strings.Contains(said, "waistcoat") {
		t.Errorf("it says\n%s", said)
	}
	again := http.Header{"Last-Event-Id": {strconv.FormatInt(last, 10)}}
	if no, said := r.heard("/events?after="+m[1], again, "changed"); no != last || strings.Contains(said, "tell") {
		t.Errorf("a stream that was lost begins with\n%s", said)
	}
	// A page that says nothing, or something that is no number, learns the number and is told nothing old.
	for _, path := range []string{"/events", "/events?after=x", fmt.Sprintf("/events?after=%d", last+100)} {
		if no, said := r.heard(path, nil, "changed"); no != last || strings.Contains(said, "tell") {
			t.Errorf("%s begins with\n%s", path, said)
		}
	}
}

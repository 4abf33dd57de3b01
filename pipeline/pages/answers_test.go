package pages_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"tracewheel/config/samples"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pages"
)

// held waits until a job waits for its release or for an answer.
func (r *shown) held(id int64, what string, is func(ledger.Job) bool) ledger.Job {
	r.t.Helper()
	return r.until(id, what, func(j ledger.Job) bool { return j.State == ledger.Held && is(j) })
}

// TestSizesAndCopiesAreAnswered: a job that waits for its release takes other copies from its page, is made anew and waits
// again; what is no number leaves it as it is, and sizes that the draft does not have are asked for again.
func TestSizesAndCopiesAreAnswered(t *testing.T) {
	r := newShown(t, nil)
	r.drop("knife-table", "apron.svg", samples.Read("stagehand-apron.svg"), "")
	j := r.held(1, "held", made)
	if _, page := r.get("/job/1"); !strings.Contains(page, "Other sizes or copies") {
		t.Error("the page does not ask")
	}
	if status, page := r.postSeen("/job/1", "/job/1/release", url.Values{"copies": {"some"}}); status != http.StatusConflict || !strings.Contains(page, "is no number of copies") {
		t.Errorf("copies that are no number: %d", status)
	}
	if status, page := r.postSeen("/job/1", "/job/1/release", url.Values{"copies": {"2"}}); status != http.StatusOK {
		t.Fatalf("two copies: %d\n%s", status, page)
	}
	r.held(1, "made twice", func(k ledger.Job) bool { return k.Ready && k.Pieces == 2*j.Pieces })
	if status, page := r.postSeen("/job/1", "/job/1/release", url.Values{"sizes": {"XXXL"}}); status != http.StatusOK {
		t.Fatalf("a size: %d\n%s", status, page)
	}
	r.held(1, "asked again", func(k ledger.Job) bool { return strings.Contains(k.Asks, "the answer --sizes XXXL cannot be taken") })
}

// TestRefusedUntilSeen: a refused job needs a person until one has seen it, whatever day it is, and then stands in its history
// as seen; what was refused too long ago stands there no more.
func TestRefusedUntilSeen(t *testing.T) {
	r := newShown(t, nil)
	r.drop("knife-table", "faulty.svg", samples.Read("usher-waistcoat.svg"), "")
	r.until(1, "refused", func(j ledger.Job) bool { return j.State == ledger.Aborted })
	unseen := func(since time.Time) int {
		t.Helper()
		jobs, err := r.shop.Jobs().Jobs(t.Context(), ledger.Filter{Unseen: since})
		if err != nil {
			t.Fatal(err)
		}
		return len(jobs)
	}
	if a, b := unseen(time.Now().Add(-time.Hour)), unseen(time.Now().Add(time.Hour)); a != 1 || b != 0 {
		t.Errorf("refused in the last hour: %d, after now: %d", a, b)
	}
	needs := func() string {
		_, page := r.get("/")
		return section(page, "needs")
	}
	if !strings.Contains(needs(), `action="/job/1/seen"`) {
		t.Errorf("it is not asked for: %s", needs())
	}
	if status, page := r.post("/job/1/seen", url.Values{"back": {"/"}}); status != http.StatusOK || !strings.Contains(page, "<h1>Jobs</h1>") {
		t.Errorf("seen: %d", status)
	}
	if strings.Contains(needs(), "/job/1") || unseen(time.Now().Add(-time.Hour)) != 0 {
		t.Errorf("it is still asked for: %s", needs())
	}
	if _, page := r.get("/job/1"); !strings.Contains(page, "seen: by a person (on the page)") {
		t.Error("the history does not say so")
	}
}

// TestWhoDropped: the history of a job says who dropped its draft on the page.
func TestWhoDropped(t *testing.T) {
	r := newShown(t, nil)
	r.post("/who", url.Values{"who": {"Nell"}})
	if status, page := r.dropAll("roll-plotter", "each", "copies: 1", "stagehand-apron.svg"); status != http.StatusOK {
		t.Fatalf("%d\n%s", status, page)
	}
	r.until(1, "made", made)
	events, err := r.shop.Jobs().Events(t.Context(), 1)
	if err != nil || len(events) == 0 || events[0].Text != `taken from the inbox with its ticket (on the page, "Nell")` {
		t.Errorf("%+v, %v", events, err)
	}
	r.drop("roll-plotter", "other.svg", samples.Read("stagehand-apron.svg"), "")
	r.until(2, "made", made)
	if events, err = r.shop.Jobs().Events(t.Context(), 2); err != nil || events[0].Text != "taken from the inbox" {
		t.Errorf("from the folder: %+v, %v", events, err)
	}
}

// TestAddressToScan: an address that other machines reach comes as a QR code with its quiet zone of four modules (ISO/IEC
// 18004); one of this machine alone, a code and a list do not.
func TestAddressToScan(t *testing.T) {
	for address, want := range map[string]bool{
		"http://127.0.0.1:7432/enter?code=ABCDE-FGHJK": false, "http://[::1]:7432/enter?code=ABCDE-FGHJK": false, "http://localhost:1/": false,
		"https://wardrobe.local:7432/enter?code=ABCDE-FGHJK": true, "http://192.168.1.20:7432/enter?code=ABCDE-FGHJK": true,
		"ABCDE-FGHJK": false, "": false, "no browser releases cutters": false,
	} {
		rows := pages.Scanned(address)
		if (rows != "") != want {
			t.Errorf("%q: %q", address, rows)
			continue
		}
		if first, _, _ := strings.Cut(rows, "\n"); want && strings.Trim(first, "█") != "" {
			t.Errorf("%q: no quiet zone in %q", address, first)
		}
	}
}

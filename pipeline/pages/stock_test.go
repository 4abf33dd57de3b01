package pages_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"tracewheel/pipeline/ledger"
)

// TestStockOnThePage: a device's page adds and corrects rolls and remnants by the rules of the command, tells what is wrong
// and keeps what was typed; a GET changes nothing.
func TestStockOnThePage(t *testing.T) {
	r := newShown(t, nil)
	const at = "/device/roll-plotter"
	if status, page := r.get(at); status != http.StatusOK || !strings.Contains(page, "Stock of rolls") || !strings.Contains(page, "None is kept") {
		t.Fatalf("before anything was added: %d\n%s", status, page)
	}
	r.get(at + "/stock?do=add&material=paper&length=3m")
	for _, c := range []struct {
		v    url.Values
		want string
	}{
		{url.Values{"do": {"add"}, "material": {"paper"}, "length": {"-3m"}}, "is a length below nought"},
		{url.Values{"do": {"add"}, "material": {"paper"}, "length": {"0"}}, "a length of nought adds nothing"},
		{url.Values{"do": {"add"}, "material": {"velvet"}, "length": {"3m"}}, "no material"},
		{url.Values{"do": {"add"}, "material": {"paper"}, "length": {"3,5m"}}, `value="3,5m"`},
		{url.Values{"do": {"correct"}, "which": {"0 paper"}, "length": {"3m"}}, "no roll of paper is in stock yet"},
		{url.Values{"do": {"correct"}, "which": {"-1 paper"}, "length": {"3m"}}, "count from 1"},
	} {
		if status, page := r.postSeen(at, at+"/stock", c.v); status != http.StatusConflict || !strings.Contains(page, "nothing is taken down") || !strings.Contains(page, c.want) {
			t.Errorf("%v: %d, no %q", c.v, status, c.want)
		}
	}
	if _, page := r.get(at); !strings.Contains(page, "None is kept") {
		t.Error("a refused form was taken down")
	}
	if status, page := r.postSeen(at, at+"/stock", url.Values{"do": {"add"}, "material": {"paper"}, "length": {"3m"}}); status != http.StatusOK || !strings.Contains(page, "3000 mm") {
		t.Errorf("a roll: %d", status)
	}
	if status, page := r.postSeen(at, at+"/stock", url.Values{"do": {"add"}, "material": {"calico"}, "length": {"90cm"}, "width": {"60cm"}, "new": {"yes"}}); status != http.StatusOK || !strings.Contains(page, "remnant 1") {
		t.Errorf("a remnant: %d", status)
	}
	if status, page := r.postSeen(at, at+"/stock", url.Values{"do": {"correct"}, "which": {"1 calico"}, "length": {"85cm"}}); status != http.StatusOK || !strings.Contains(page, "850 mm") {
		t.Errorf("corrected: %d", status)
	}
}

// TestShortStockIsTold: the list of jobs, the job's page beside its release and its lay page warn of a roll that is too short;
// the lay of the job is not changed, and a longer roll ends the warning. That its pieces name another cloth stays told.
func TestShortStockIsTold(t *testing.T) {
	r := newShown(t, nil)
	roll := func(do, length string) {
		t.Helper()
		v := url.Values{"do": {do}, "material": {"calico"}, "length": {length}, "which": {"0 calico"}}
		if status, page := r.postSeen("/device/knife-table", "/device/knife-table/stock", v); status != http.StatusOK {
			t.Fatalf("%d\n%s", status, page)
		}
	}
	roll("add", "1cm")
	if status, page := r.dropAll("knife-table", "one", "material: calico\n", "tool-roll.yaml"); status != http.StatusOK {
		t.Fatalf("%d %s", status, page)
	}
	j := r.until(1, "held", func(j ledger.Job) bool { return j.State == ledger.Held && j.Ready })
	for _, long := range []bool{false, true} {
		if long {
			roll("correct", "20m")
		}
		for _, at := range []string{"/", "/job/1", "/job/1/lay"} {
			if _, page := r.get(at); strings.Contains(page, "<b>Warning:</b> the material does not suffice") == long {
				t.Errorf("%s, a roll that is long enough %v", at, long)
			}
			if _, page := r.get(at); !strings.Contains(page, "<b>Warning:</b> the draft names canvas for its pieces panel, pocket strip, strap, hanging loop; the ticket has them cut from calico") {
				t.Errorf("%s does not name both cloths", at)
			}
		}
	}
	const offer = "it fits remnant 1 (2000 mm long, 900 mm wide); take that before the roll"
	if _, page := r.get("/job/1/lay?material=calico"); strings.Contains(page, offer) {
		t.Error("a remnant is offered before there is one")
	}
	if status, page := r.postSeen("/device/knife-table", "/device/knife-table/stock", url.Values{"do": {"add"}, "material": {"calico"}, "length": {"200cm"}, "width": {"90cm"}, "new": {"yes"}}); status != http.StatusOK {
		t.Fatalf("%d\n%s", status, page)
	}
	if _, page := r.get("/job/1/lay?material=calico"); !strings.Contains(page, offer) {
		t.Error("a remnant that was added after the page was shown is not offered on it")
	}
	if after := r.until(1, "held", func(ledger.Job) bool { return true }); after.Lay != j.Lay {
		t.Error("the lay changed")
	}
}

// TestStockTwiceCountsOnce: a second press of a page that showed another stock is refused with what changed, and so is a form
// that does not say what it showed.
func TestStockTwiceCountsOnce(t *testing.T) {
	r := newShown(t, nil)
	const at = "/device/roll-plotter"
	v := url.Values{"do": {"add"}, "material": {"paper"}, "length": {"5m"}}
	if status, page := r.postSeen(at, at+"/stock", v); status != http.StatusOK || !strings.Contains(page, "5000 mm") {
		t.Fatalf("not added: %d", status)
	}
	if status, page := r.post(at+"/stock", v); status != http.StatusConflict || !strings.Contains(page, "has changed since this page was shown, roll of paper: ") || strings.Contains(page, "10000 mm") {
		t.Errorf("pressed twice: %d\n%s", status, page)
	}
	v.Del("seen")
	if status, page := r.post(at+"/stock", v); status != http.StatusConflict || !strings.Contains(page, "did not say what it showed") {
		t.Errorf("without what was seen: %d", status)
	}
}

// TestSquareTwiceIsSentOnce: of a page from before the last test square no other one is sent for.
func TestSquareTwiceIsSentOnce(t *testing.T) {
	r := newShown(t, nil)
	const at = "/device/roll-plotter"
	v := url.Values{"size": {"500mm"}, "count": {"1"}}
	if status, _ := r.postSeen(at, at+"/plot", v); status != http.StatusOK {
		t.Fatalf("not sent for: %d", status)
	}
	if status, page := r.post(at+"/plot", v); status != http.StatusConflict || !strings.Contains(page, "was sent for since this page was shown: test square 1 of roll-plotter") {
		t.Errorf("pressed twice: %d\n%s", status, page)
	}
	r.until(1, "made", made)
	if _, err := r.shop.Jobs().Job(t.Context(), 2); err == nil {
		t.Error("two squares became jobs")
	}
}

package pages_test

import (
	"math"
	"net/http"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/remote"
	"tracewheel/pipeline/ledger"
)

// pair makes this browser one that may release cutters.
func (r *shown) pair(t *testing.T) {
	t.Helper()
	client, err := remote.Dial(t.Context(), r.room.Path(r.room.Folders.Store))
	if err != nil {
		t.Fatal(err)
	}
	defer client.Close() //nolint:errcheck // only asked
	code, err := client.Page(t.Context(), control.PagePair, 0)
	if err != nil {
		t.Fatal(err)
	}
	if status, _ := r.post("/pair", url.Values{"code": {code}}); status != http.StatusOK {
		t.Fatalf("not paired: %d", status)
	}
}

// TestJobOnARemnant: a job that is laid on a remnant is told as ready while that holds it, and offers no release after it has
// become too short, until it is laid on something else.
func TestJobOnARemnant(t *testing.T) {
	r := newShown(t, nil)
	r.pair(t)
	stock := func(v url.Values) {
		t.Helper()
		v.Set("material", "calico")
		if status, page := r.postSeen("/device/knife-table", "/device/knife-table/stock", v); status != http.StatusOK {
			t.Fatalf("%d\n%s", status, page)
		}
	}
	stock(url.Values{"do": {"add"}, "length": {"5m"}})
	stock(url.Values{"do": {"add"}, "length": {"150cm"}, "width": {"62cm"}, "new": {"yes"}})
	r.drop("knife-table", "leaf-crown.svg", samples.Read("leaf-crown.svg"), "")
	r.until(1, "held", func(j ledger.Job) bool { return j.State == ledger.Held && j.Ready })
	last, err := r.shop.Jobs().LastEvent(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if status, page := r.post("/job/1/release", url.Values{"seen": {itoa(last)}, "remnant": {"1"}}); status != http.StatusOK {
		t.Fatalf("%d\n%s", status, page)
	}
	r.until(1, "made on the remnant", func(j ledger.Job) bool { return j.State == ledger.Held && j.Ready && j.Remnant.No == 1 })
	const button, ready = "<button>Release</button>", "ready to cut on remnant 1"
	if _, page := r.get("/job/1"); !strings.Contains(page, button) || !strings.Contains(page, ready) {
		t.Errorf("while the remnant holds it there is no release:\n%s", page)
	}
	// 1500 mm of length are drawn as much longer than 620 mm of width as they are, from the corner that the question names
	_, svg := r.get("/job/1/picture")
	edge := regexp.MustCompile(`class="remnant"[^>]* d="M([-\d.]+) ([-\d.]+)L([-\d.]+) ([-\d.]+)L([-\d.]+) ([-\d.]+)`).FindStringSubmatch(svg)
	if edge == nil || !strings.Contains(svg, "remnant 1, 1500 mm long and 620 mm wide, lies with its corner at 0,0, the lower left here") {
		t.Fatalf("the picture does not show the remnant: %q", edge)
	}
	var at [6]float64
	for i := range at {
		at[i], _ = strconv.ParseFloat(edge[i+1], 64)
	}
	if long, wide := at[2]-at[0], at[3]-at[5]; long <= 0 || math.Abs(long/wide-1500.0/620) > 0.01 {
		t.Errorf("the remnant is drawn %v by %v", long, wide)
	}
	if _, page := r.get("/job/1"); !strings.Contains(page, "Does remnant 1 of calico, its corner at 0,0 of the bed, the lower left of the job&#39;s picture, and its length along x, lie there?") {
		t.Errorf("the release does not ask where the remnant lies:\n%s", page)
	}
	_, page := r.get("/job/1/lay")
	machine := section(page, "machine")
	for want, is := range map[string]bool{"calico, remnant 1": true, "it lies on remnant 1: nothing is to be bought": true, "15 mm kept free along each long edge": true, "selvedge": false, "To buy": false} {
		if strings.Contains(machine, want) != is {
			t.Errorf("%q on the lay page %v:\n%s", want, !is, machine)
		}
	}
	if _, page := r.get("/job/1"); strings.Contains(page, "its lay was made for other pieces or another material") {
		t.Errorf("the chosen remnant is told as other pieces:\n%s", page)
	}
	stock(url.Values{"do": {"correct"}, "which": {"1 calico"}, "length": {"10cm"}})
	for _, at := range []string{"/", "/job/1"} {
		_, page := r.get(at)
		if strings.Contains(page, button) || strings.Contains(page, ready) || !strings.Contains(page, "remnant 1 does not hold it any more: choose another one that does, or the roll: press &#34;Lay it on the roll&#34;") {
			t.Errorf("%s of a job whose remnant became too short:\n%s", at, page)
		}
	}
	if _, page := r.get("/job/1"); !strings.Contains(page, "<button>Lay it on the roll, not on remnant 1</button>") {
		t.Errorf("no other place is offered:\n%s", page)
	}
}

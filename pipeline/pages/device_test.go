package pages_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"tracewheel/devices/knife"
	"tracewheel/pipeline/testsquare"
)

// squareReadings fill the form of a square whose sides and diagonals are as read.
func squareReadings(plot int, read ...string) url.Values {
	v := url.Values{"plot": {fmt.Sprint(plot)}}
	for i, side := range []string{"bottom", "right", "top", "left", "rising", "falling"} {
		v.Set("r-1-"+side, read[i])
	}
	return v
}

// TestSquareOnThePage: a square is sent for and its readings are recorded on the device's page as by the command:
// each slip is told at its field, nothing is recorded without "record", with a slip, with a doubt that nobody took,
// or from a page that is older than the last calibration. What is in force then is what the geometry of the
// readings says: a side of 500 mm read as 502 is drawn 0.4 % too long.
func TestSquareOnThePage(t *testing.T) {
	r := newShown(t, nil)
	entries := func() []testsquare.Calibrated {
		t.Helper()
		c, err := testsquare.Load(r.room, "roll-plotter")
		if err != nil {
			t.Fatal(err)
		}
		return c.Entries
	}
	if status, page := r.get("/device/roll-plotter"); status != http.StatusOK || !strings.Contains(page, "roll-plotter has no calibration in force") || strings.Contains(page, "r-1-bottom") {
		t.Fatalf("before any square: %d\n%s", status, page)
	}
	if status, page := r.postSeen("/device/roll-plotter", "/device/roll-plotter/plot", url.Values{"size": {"much"}, "count": {"1"}}); status != http.StatusConflict || !strings.Contains(page, "nothing is sent for") {
		t.Errorf("a square of no size: %d", status)
	}
	if status, page := r.postSeen("/device/roll-plotter", "/device/roll-plotter/plot", url.Values{"size": {"500mm"}, "count": {"1"}}); status != http.StatusOK || !strings.Contains(page, "test square 1 of roll-plotter, sent for on") {
		t.Fatalf("not sent for: %d\n%s", status, page)
	}
	r.until(1, "made", made)
	// A page that is only looked at, and a GET of what records, change nothing.
	if status, _ := r.get("/device/roll-plotter/square?do=record"); status == http.StatusOK || len(entries()) != 0 {
		t.Errorf("a GET records: %d", status)
	}
	good := squareReadings(1, "502", "500", "502", "500", "708.5", "708.5")
	judged := func(v url.Values) (said struct {
		Fields      map[string]string
		Fault, Text string
		Doubts      []string
	}) {
		t.Helper()
		status, text := r.post("/device/roll-plotter/judge", v)
		if err := json.Unmarshal([]byte(text), &said); err != nil || status != http.StatusOK {
			t.Fatalf("%d %v %s", status, err, text)
		}
		return said
	}
	slip := squareReadings(1, "502", "", "602", "", "", "")
	if said := judged(slip); said.Fields["r-1-bottom"] != "" || said.Fields["r-1-left"] != "" || !strings.Contains(said.Fields["r-1-top"], "nowhere near") || said.Fault != "" {
		t.Errorf("a slip as it is typed: %+v", said)
	}
	if said := judged(squareReadings(1, "half", "", "", "", "", "")); !strings.Contains(said.Fields["r-1-bottom"], "write 499.5, 499.5mm or 19 11/16in") {
		t.Errorf("no number: %+v", said)
	}
	if said := judged(good); said.Fault != "" || !strings.Contains(said.Text, "0.40 % too long") || len(said.Doubts) == 0 {
		t.Errorf("a square that is not drawn yet: %+v", said)
	}
	record := func(v url.Values, seen int, more ...string) (int, string) {
		t.Helper()
		v.Set("seen", fmt.Sprint(seen))
		for _, name := range more {
			v.Set(name, map[string]string{"do": "record", "yes": "yes"}[name])
		}
		return r.post("/device/roll-plotter/square", v)
	}
	slip = squareReadings(1, "502", "500", "602", "500", "708.5", "708.5")
	for what, of := range map[string]struct {
		v    url.Values
		more []string
		want int
		says string
	}{
		"without record": {good, nil, http.StatusOK, "0.40 % too long"},
		"with a slip":    {slip, []string{"do", "yes"}, http.StatusConflict, "nowhere near"},
		"half a square":  {squareReadings(1, "502", "", "", "", "", ""), []string{"do", "yes"}, http.StatusConflict, "nothing is recorded"},
		"with a doubt":   {squareReadings(1, "502", "500", "502", "500", "708.5", "708.5"), []string{"do"}, http.StatusConflict, "doubt: test square 1 is job 1"},
		"an old page":    {squareReadings(1, "502", "500", "502", "500", "708.5", "708.5"), nil, http.StatusConflict, "have changed since this page was shown"},
	} {
		seen := 0
		if what == "an old page" {
			seen, of.more = 7, []string{"do", "yes"}
		}
		if status, page := record(of.v, seen, of.more...); status != of.want || !strings.Contains(page, of.says) || !strings.Contains(page, `value="502"`) || len(entries()) != 0 {
			t.Errorf("%s: %d, %d recorded, want %q in\n%s", what, status, len(entries()), of.says, page)
		}
	}
	status, page := record(good, 0, "do", "yes")
	if status != http.StatusOK || !strings.Contains(page, "calibration 1 of roll-plotter is in force") || !strings.Contains(page, "0.40 % too long") {
		t.Fatalf("not recorded: %d\n%s", status, page)
	}
	if all := entries(); len(all) != 1 || all[0].Who != "on the page" || all[0].Result.ScaleX < 1.0039 || all[0].Result.ScaleX > 1.0041 || all[0].Result.ScaleY < 0.9999 || all[0].Result.ScaleY > 1.0001 {
		t.Fatalf("%+v", all)
	}
	if status, _ := record(good, 0, "do", "yes"); status != http.StatusConflict || len(entries()) != 1 {
		t.Errorf("pressed twice: %d, %d calibrations", status, len(entries()))
	}
	// The page shows the square as it was read, and the first calibration against the size wanted: the mark stands at
	// +0.40 %, between the rules at 0 and at the most.
	if !strings.Contains(page, "<svg class=\"drift\"") || !strings.Contains(page, "0 is the size wanted") || !strings.Contains(page, `<img src="/device/roll-plotter/calibration/1/picture"`) {
		t.Errorf("the first calibration is not shown:\n%s", page)
	}
	if status, svg := r.get("/device/roll-plotter/calibration/1/picture"); status != http.StatusOK || !strings.Contains(svg, "roll-plotter, calibration 1: wanted pale and dashed, drawn dark, its error enlarged 20 times") || !strings.HasPrefix(strings.TrimSpace(svg), "<svg") {
		t.Errorf("its square: %d\n%.300s", status, svg)
	}
	for _, no := range []string{"2", "0", "x"} {
		if status, _ := r.get("/device/roll-plotter/calibration/" + no + "/picture"); status != http.StatusNotFound {
			t.Errorf("a picture of calibration %s, which is none: %d", no, status)
		}
	}
	// A second square, drawn with the first calibration and read as wanted: the device is as before.
	if status, page := r.postSeen("/device/roll-plotter", "/device/roll-plotter/plot", url.Values{"size": {"500mm"}, "count": {"1"}}); status != http.StatusOK || !strings.Contains(page, "drawn with calibration 1") {
		t.Fatalf("%d\n%s", status, page)
	}
	if status, page = record(squareReadings(2, "500", "500", "500", "500", "707", "707"), 1, "do", "yes"); status != http.StatusOK || !strings.Contains(page, "<svg class=\"drift\"") || !strings.Contains(page, "drift: none that the readings could tell") {
		t.Errorf("the second: %d\n%s", status, page)
	}
	if _, page := r.get("/device/roll-plotter?wish=0.1%25"); !strings.Contains(page, "0.1 %: a square of") {
		t.Errorf("how an accuracy is reached is not told")
	}
	if _, page := r.get("/device/roll-plotter?wish=much"); !strings.Contains(page, "an accuracy is written as 0.02%") {
		t.Errorf("an accuracy that is none is not told")
	}
}

// TestCautionsOnACuttersPage: they stand there in full, as where the work is done; the queue and the form of a blade
// ladder stand there too.
func TestCautionsOnACuttersPage(t *testing.T) {
	r := newShown(t, nil)
	if status, page := r.postSeen("/device/knife-table", "/device/knife-table/plot", url.Values{"size": {"500mm"}, "count": {"1"}, "blade": {"0.3,0.4,0.5"}}); status != http.StatusOK {
		t.Fatalf("%d\n%s", status, page)
	}
	r.until(1, "made", made)
	_, page := r.get("/device/knife-table")
	for _, c := range knife.Cautions() {
		if !strings.Contains(page, strings.ReplaceAll(c, "'", "&#39;")) {
			t.Errorf("missing: %s", c)
		}
	}
	for _, want := range []string{`href="/job/1"`, `name="rung"`, "/dev/no-such-tty"} {
		if !strings.Contains(page, want) {
			t.Errorf("missing: %s in\n%s", want, page)
		}
	}
	v := url.Values{"plot": {"1"}, "seen": {"0"}, "rung": {"2"}, "yes": {"yes"}, "do": {"record"}}
	if status, page := r.post("/device/knife-table/square", v); status != http.StatusOK || !strings.Contains(page, "a blade offset of 0.40 mm is recorded") || !strings.Contains(page, "<td>0.4 mm</td>") {
		t.Errorf("the ladder: %d\n%s", status, page)
	}
	if _, page := r.get("/"); !strings.Contains(page, `<a href="/device/knife-table">knife-table</a></h2>`) {
		t.Error("the device's heading does not lead to its page")
	}
}

// TestSheetPrintersPage: it tells nothing that a printer has not. A reading that no engine prints (an A4 page that was
// fitted onto A4 measures 95.3 mm for 100) is told while the form is typed, and which calibration the sheet carries must
// be said once there is one.
func TestSheetPrintersPage(t *testing.T) {
	r := newShown(t, nil)
	status, page := r.get("/device/office-printer")
	if status != http.StatusOK || strings.Contains(page, ">Reach<") || strings.Contains(page, `name="wish"`) {
		t.Fatalf("%d, a printer has neither reach nor test squares of any size:\n%s", status, page)
	}
	if _, plotter := r.get("/device/roll-plotter"); !strings.Contains(plotter, ">Reach<") || !strings.Contains(plotter, `name="wish"`) {
		t.Error("the plotter's page lacks its reach")
	}
	judged := func(v url.Values) (said struct {
		Fields map[string]string
		Fault  string
		Doubts []string
	}) {
		t.Helper()
		status, text := r.post("/device/office-printer/judge", v)
		if err := json.Unmarshal([]byte(text), &said); err != nil || status != http.StatusOK {
			t.Fatalf("%d %v %s", status, err, text)
		}
		return said
	}
	sheet := func(more string, read ...string) url.Values {
		v := squareReadings(0, read...)
		v.Del("plot")
		if more != "" {
			v.Set("calibration", more)
		}
		return v
	}
	for _, typed := range [][]string{{"95.3", "", "", "", "", ""}, {"95.3", "95.3", "95.3", "95.3", "", ""}} {
		if said := judged(sheet("", typed...)); !strings.Contains(said.Fault, "the widths are printed at 95.3 % of their size, as of an A4 page fitted onto A4") {
			t.Errorf("%v as it is typed: %+v", typed, said)
		}
	}
	if said := judged(sheet("", "100", "", "", "", "", "")); said.Fault != "" {
		t.Errorf("one side that may be: %+v", said)
	}
	record := func(seen int, v url.Values) (int, string) {
		t.Helper()
		v.Set("seen", fmt.Sprint(seen))
		v.Set("ruler", "0.1mm")
		v.Set("do", "record")
		return r.post("/device/office-printer/square", v)
	}
	read := []string{"99.6", "100.4", "99.6", "100.4", "", ""}
	if status, page := record(0, sheet("0", read...)); status != http.StatusOK || !strings.Contains(page, "calibration 1 of office-printer on a4 is in force") || strings.Contains(page, "must be said") {
		t.Fatalf("%d\n%s", status, page)
	}
	if status, page := record(1, sheet("", read...)); status != http.StatusConflict || !strings.Contains(page, "which calibration the sheet was corrected by must be said") {
		t.Errorf("the same sheet again: %d\n%s", status, page)
	}
	if said := judged(sheet("", read...)); !strings.Contains(said.Fault, "must be said") {
		t.Errorf("as it is typed: %+v", said)
	}
	if status, page := record(1, sheet("1", read...)); status != http.StatusConflict || !strings.Contains(page, "the readings of calibration 1 again") {
		t.Errorf("the same sheet as another: %d\n%s", status, page)
	}
	if status, page := record(1, sheet("0", read...)); status != http.StatusOK || !strings.Contains(page, "calibration 2 of office-printer on a4 is in force") {
		t.Errorf("the same sheet, said so: %d\n%s", status, page)
	}
	c, err := testsquare.Load(r.room, "office-printer")
	if err != nil || len(c.Entries) != 2 || c.Entries[0].Result.Correction != c.Entries[1].Result.Correction {
		t.Errorf("recorded twice it is another correction: %v %+v", err, c)
	}
}

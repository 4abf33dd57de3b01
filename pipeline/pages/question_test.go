package pages_test

import (
	"errors"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/ledger"
)

// TestQuestionsOnAPage: a draft without a unit waits and takes it from the page; the question whose measures count has the
// bodies and the measure cards to choose from, names what a card lacks, and speaks of the form, not of flags. Each page that
// says that something was not done leads back.
func TestQuestionsOnAPage(t *testing.T) {
	r := newShownWith(t, nil, nil, func(dir string) error {
		cards := filepath.Join(dir, "cards")
		return errors.Join(os.MkdirAll(cards, 0o700), os.WriteFile(filepath.Join(cards, "chorus-4.yaml"), []byte("unit: cm\nmeasures:\n  bust: 96\n"), 0o600))
	})
	answer := func(path, name, what string) {
		t.Helper()
		id, _ := strconv.ParseInt(strings.Split(path, "/")[2], 10, 64)
		events, err := r.shop.Jobs().Events(t.Context(), id)
		if err != nil {
			t.Fatal(err)
		}
		if status, page := r.post(path, url.Values{"seen": {itoa(events[len(events)-1].Seq)}, name: {what}}); status != http.StatusOK {
			t.Fatalf("%s=%s: %d\n%s", name, what, status, page)
		}
	}
	asks := func(j ledger.Job) bool { return j.State == ledger.Held && j.Asks != "" }

	source, err := os.ReadFile("../../testdata/strange/45-no-units.dxf")
	if err != nil {
		t.Fatal(err)
	}
	r.drop("roll-plotter", "no-units.dxf", source, "")
	r.until(1, "asked about", asks)
	if _, page := r.get("/job/1"); !strings.Contains(page, `<select id="unit" name="unit">`) || !strings.Contains(page, "answer with mm or cm or in, whichever one unit of the draft is") {
		t.Errorf("the unit is not asked for:\n%s", page)
	}
	answer("/job/1/release", "unit", "mm")
	r.until(1, "made or asked about something else", func(j ledger.Job) bool {
		return j.Ready || j.State.Ended() || asks(j) && !strings.Contains(j.Asks, "--unit")
	})
	if j := r.until(1, "there", func(ledger.Job) bool { return true }); j.State == ledger.Aborted || j.Answers["unit"] != "mm" {
		t.Errorf("with its unit: %s, %s, %v", j.State, j.Reason, j.Answers)
	}

	smock := strings.Replace(string(samples.Read("ferry-smock.yaml")), "\nbody: A", "\n# body: A", 1)
	r.drop("roll-plotter", "smock.yaml", []byte(smock), "")
	r.until(2, "asked about", asks)
	_, page := r.get("/job/2")
	for _, want := range []string{`<select id="body" name="body">`, "<option>A</option>", "<option>B</option>", "<option>chorus-4</option>", "answer with A or B"} {
		if !strings.Contains(page, want) {
			t.Errorf("the question has no %q:\n%s", want, page)
		}
	}
	if strings.Contains(page, "--body") {
		t.Errorf("the page speaks of a flag:\n%s", page)
	}
	answer("/job/2/release", "body", "chorus-4")
	j := r.until(2, "asked about again", func(j ledger.Job) bool { return asks(j) && strings.Contains(j.Asks, "cannot be taken") })
	if !strings.Contains(j.Asks, `the measures of chorus-4 lack "`) || !strings.Contains(j.Asks, "add what is missing to the card") {
		t.Errorf("a card that lacks measures: %q", j.Asks)
	}

	for path, back := range map[string]string{"/job/2/resume": `<a href="/job/2">Back to job 2</a>`, "/device/roll-plotter/changed": `<a href="/device/roll-plotter">Back to roll-plotter</a>`,
		"/pair": `<a href="/job/2">Back, to try another code</a>`} {
		if status, page := r.post(path, url.Values{"code": {"0000"}, "back": {"/job/2"}}); status < 400 || !strings.Contains(page, back) {
			t.Errorf("%s, %d, leads nowhere:\n%s", path, status, page)
		}
	}
}

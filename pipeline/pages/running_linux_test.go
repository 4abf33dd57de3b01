package pages_test

import (
	"fmt"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"tracewheel/config/samples"
	"tracewheel/devices"
	"tracewheel/devices/pretend"
	"tracewheel/pipeline/ledger"
)

// newRunning is a workroom whose roll plotter is a pretend one that draws so slowly that a job runs until the test's end.
func newRunning(t *testing.T) *shown {
	t.Helper()
	pty, err := pretend.NewPty()
	if err != nil {
		t.Fatal(err)
	}
	plotter := pretend.NewPlotter(pty, pretend.PlotterOptions{Flow: devices.FlowXonXoff, Rate: 200})
	t.Cleanup(plotter.Close)
	r := newShown(t, strings.NewReplacer("path: /dev/no-such-ttyUSB0 ", "path: "+plotter.Path()+" "))
	r.drop("roll-plotter", "smock.yaml", samples.Read("ferry-smock.yaml"), "")
	for deadline := time.Now().Add(time.Minute); ; time.Sleep(20 * time.Millisecond) {
		if now := r.shop.Jobs().Now(); len(now) == 1 && now[0].Stroke > 0 {
			return r
		} else if time.Now().After(deadline) {
			t.Fatalf("job 1 does not run: %+v", now)
		}
	}
}

// TestRunningJobIsStoppedFromEveryPage: the foot of each page of the board has a running job's Pause and Cancel, and says that
// they are no emergency stop; where nothing runs there is no foot.
func TestRunningJobIsStoppedFromEveryPage(t *testing.T) {
	r := newRunning(t)
	foot := func(path string) string {
		t.Helper()
		status, page := r.get(path)
		_, foot, _ := strings.Cut(page, "<footer")
		if status != http.StatusOK {
			t.Errorf("%s: %d", path, status)
		}
		return foot
	}
	r.drop("knife-table", "leaf-crown.svg", samples.Read("leaf-crown.svg"), "")
	r.until(2, "made", made)
	for _, path := range []string{"/", "/job/1", "/job/2", "/job/1/lay", "/device/roll-plotter", "/device/knife-table", "/drop", "/past", "/production"} {
		said := foot(path)
		for _, want := range []string{`action="/job/1/pause"`, `action="/job/1/cancel"`, "Not an emergency stop"} {
			if strings.Count(said, want) != 1 {
				t.Errorf("%s: %q stands %d times in its foot:\n%s", path, want, strings.Count(said, want), said)
			}
		}
		if own := strings.Contains(said, `action="/job/2/cancel"`); own != (path == "/job/2") {
			t.Errorf("%s: the job that waits can be canceled: %v", path, own)
		}
	}
	// Job 2 waits for its release and stands in a heavy frame; what runs is told above it.
	_, list := r.get("/")
	above, _, needs := strings.Cut(list, `id="needs"`)
	if !needs || !strings.Contains(list, `aria-label="Running now"`) || !strings.Contains(above, `<a href="/job/1">1`) || !strings.Contains(above, `<span data-job="1">`) {
		t.Errorf("what runs does not stand at the top: %s", above)
	}
	if status, page := r.post("/job/1/cancel", nil); status != http.StatusOK || !strings.Contains(page, "Job 1") {
		t.Errorf("canceled from a foot: %d", status)
	}
	r.until(1, "canceled", func(j ledger.Job) bool { return j.State == ledger.Canceled })
	if said := foot("/"); said != "" {
		t.Errorf("nothing runs, and the foot is %s", said)
	}
	if _, list := r.get("/"); strings.Contains(list, "Running now") || !strings.Contains(list, "<h3>Ended today</h3>") || strings.Contains(list, "Done today") {
		t.Errorf("what has ended: %s", list)
	}
}

var timeLeft = regexp.MustCompile(`[0-9]+ % sent(, piece [0-9]+)?, about (a minute|[0-9]+ min) left`)

// TestRunningCardShowsHowFar: the card of a job that is sent says how long it takes still, and its small picture shows what
// is made, what is sent, what is to come and where the tool is, as the large one.
func TestRunningCardShowsHowFar(t *testing.T) {
	r := newRunning(t)
	for _, path := range []string{"/", "/job/1", "/device/roll-plotter"} {
		if _, page := r.get(path); !timeLeft.MatchString(page) {
			t.Errorf("%s does not say how long it takes still:\n%s", path, page)
		}
	}
	if status, _ := r.post("/job/1/pause", nil); status != http.StatusOK { // so that both pictures are of one moment
		t.Errorf("not paused: %d", status)
	}
	r.until(1, "paused", func(j ledger.Job) bool { return j.State == ledger.Stopped })
	over := fmt.Sprintf("/job/1/over?small&at=%s", ledger.Stopped)
	_, page := r.get("/")
	if !strings.Contains(page, `<img class="over" src="`+strings.ReplaceAll(over, "&", "&amp;")+`"`) {
		t.Fatalf("nothing is drawn over the card's picture:\n%s", page)
	}
	_, small := r.get(over)
	_, large := r.get("/job/1/over?at=" + string(ledger.Stopped))
	for _, of := range []string{`class="drawn"`, `class="sent"`, `class="come"`, `class="tool"`} {
		if n := strings.Count(small, of); n == 0 && of != `class="drawn"` || n != strings.Count(large, of) { // nothing is sure of a device that only stops the line
			t.Errorf("%s stands %d times in the small picture, %d times in the large one", of, n, strings.Count(large, of))
		}
	}
	if strings.Contains(small, `class="piece"`) {
		t.Error("the small picture has pieces to be pointed at")
	}
}

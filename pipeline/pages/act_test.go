package pages_test

import (
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"go.uber.org/zap"

	"tracewheel/config"
	"tracewheel/config/samples"
	"tracewheel/pipeline"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/newroom"
	"tracewheel/pipeline/pages"
	"tracewheel/pipeline/pattern"
)

// TestCutterFromAPage: a page that the terminal did not pair lets no cutter go, whatever its form says; a button of a
// page that the job has moved on from does nothing; a cancel is carried out all the same.
func TestCutterFromAPage(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "room")
	if _, err := newroom.Write(dir, making.Sample()); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(dir, "workroom.yaml")
	text := strings.NewReplacer("127.0.0.1:7432", "127.0.0.1:0", "/dev/tty", "/dev/no-such-tty").Replace(string(config.SampleFile()))
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	room, err := config.Load(file, pattern.RuleNames())
	if err != nil {
		t.Fatal(err)
	}
	shop, err := pipeline.New(t.Context(), room, zap.NewNop())
	if err != nil {
		t.Fatal(err)
	}
	defer shop.Stop(t.Context()) //nolint:errcheck // all was seen
	if err := shop.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	shown := pages.Start(t.Context(), shop, zap.NewNop())
	defer shown.Stop(t.Context()) //nolint:errcheck // likewise
	if err := os.WriteFile(filepath.Join(dir, "inbox", "knife-table", "leaf-crown.svg"), samples.Read("leaf-crown.svg"), 0o600); err != nil {
		t.Fatal(err)
	}
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
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	browser := &http.Client{Jar: jar}
	address, code, _ := strings.Cut(shown.Entrance(), "/enter?code=")
	post := func(path string, form url.Values) (int, string) {
		t.Helper()
		resp, err := browser.PostForm(address+path, form)
		if err != nil {
			t.Fatal(err)
		}
		defer resp.Body.Close() //nolint:errcheck // read whole
		said, err := io.ReadAll(resp.Body)
		if err != nil {
			t.Fatal(err)
		}
		return resp.StatusCode, string(said)
	}
	if status, _ := post("/enter", url.Values{"code": {code}}); status != http.StatusOK {
		t.Fatalf("not let in: %d", status)
	}
	last, err := shop.Jobs().LastEvent(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	seen := url.Values{"seen": {itoa(last)}, "said": {string(control.BedClear)}}
	if status, said := post("/job/1/release", seen); status != http.StatusForbidden || !strings.Contains(said, "release it at the machine") || released() {
		t.Errorf("an unpaired release: %d, %s", status, state().State)
	}
	client, err := control.Dial(t.Context(), room.Path(room.Folders.Store))
	if err != nil {
		t.Fatal(err)
	}
	defer client.Close() //nolint:errcheck // only asked
	pair, err := client.Page(t.Context(), true)
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

package board

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"go.uber.org/zap"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/web"
)

// TestDraftName: the browser's name of a file becomes a plain file name, or is refused.
func TestDraftName(t *testing.T) {
	for said, want := range map[string]string{
		"smock.yaml":                      "smock.yaml",
		`C:\drafts\Bodice.SVG`:            "Bodice.svg",
		"../../store/ledger.dxf":          "ledger.dxf",
		"/etc/passwd.svg":                 "passwd.svg",
		".hidden.svg":                     "hidden.svg",
		"a b\nc\x1b[31m.svg":              "a-b-c--31m.svg",
		"..svg":                           "draft.svg",
		strings.Repeat("a", 300) + ".dxf": strings.Repeat("a", 80) + ".dxf",
		"smock.ticket.yaml":               "smock-ticket.yaml",
	} {
		if got, err := draftName(said); err != nil || got != want {
			t.Errorf("%q becomes %q, not %q (%v)", said, got, want, err)
		}
	}
	for _, said := range []string{"", "smock", "smock.plt", "smock.svg/", "run.sh"} {
		if got, err := draftName(said); err == nil {
			t.Errorf("%q is taken as %q", said, got)
		}
	}
}

// TestOnePiece: a job of one piece is not called one of "1 pieces".
func TestOnePiece(t *testing.T) {
	server, err := web.New(web.Options{Address: "127.0.0.1:0", Sessions: filepath.Join(t.TempDir(), "browsers.json"), Title: func() string { return "" }, Log: zap.NewNop()})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = server.Stop(t.Context()) }()
	b, err := New(server, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for n, want := range map[int]string{1: " 1 piece &middot; 758 mm of calico<", 3: " 3 pieces &middot; 758 mm of calico<"} {
		var text strings.Builder
		if err := b.pages.ExecuteTemplate(&text, "card", card{Job: ledger.Job{Pieces: n}, Takes: "758 mm of calico"}); err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(text.String(), want) {
			t.Errorf("%d: no %q in %s", n, want, text.String())
		}
	}
}

// TestTimeLeftIsSaid: the minutes that remain of a job are shown while it is sent, nothing where they are not known.
func TestTimeLeftIsSaid(t *testing.T) {
	for left, want := range map[float64]string{0: "16 % sent, piece 1", 40: "16 % sent, piece 1, about a minute left", 215: "16 % sent, piece 1, about 4 min left", 7200: "16 % sent, piece 1, about 2 h 0 min left"} {
		if got := progressOf(control.Progress{Bytes: 16, Total: 100, Left: left}).Text; got != want {
			t.Errorf("%g s: %q", left, got)
		}
	}
}

// TestCalled: a list names a job by its style, a test square by its number, and others by their file.
func TestCalled(t *testing.T) {
	for want, j := range map[string]ledger.Job{"Leaf crown": {Style: "Leaf crown", File: "crown.svg"}, "test square 3": {File: "test-square-3.square.json"}, "crown.svg": {File: "crown.svg"}} {
		if got := (card{Job: j}).Called(); got != want {
			t.Errorf("%q, not %q", got, want)
		}
	}
}

// TestMomentOfAnEndedJob: a message about a job whose state alone changed does not reset what its picture shows, and
// calls no piece not begun.
func TestMomentOfAnEndedJob(t *testing.T) {
	c := &watcher{jobs: control.New(nil, nil, zap.NewNop(), nil)}
	if m := c.momentOf(t.Context(), control.Progress{Job: 7, Bytes: 1, Total: 2, Piece: -1, SureBlock: -1}); m.Sure != -1 || m.Sent != -1 || m.Far != nil || m.Percent != 50 {
		t.Errorf("%+v", m)
	}
}

// TestPausingIsShown: a job that was told to pause and still moves is shown as pausing, also by its button.
func TestPausingIsShown(t *testing.T) {
	server, err := web.New(web.Options{Address: "127.0.0.1:0", Sessions: filepath.Join(t.TempDir(), "browsers.json"), Title: func() string { return "" }, Log: zap.NewNop()})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = server.Stop(t.Context()) }()
	b, err := New(server, Options{Room: func() *config.Workroom {
		return &config.Workroom{Devices: map[string]config.Device{"": {Profile: devices.Profile{Kind: devices.PenPlotter}}}}
	}})
	if err != nil {
		t.Fatal(err)
	}
	for pausing, want := range map[bool]string{false: ">Pause 7<", true: "disabled>Pausing 7<"} {
		now := map[int64]progress{7: progressOf(control.Progress{Job: 7, Total: 2, Piece: -1, Pausing: pausing})}
		var text strings.Builder
		if err := b.pages.ExecuteTemplate(&text, "stop.html", b.cardOf(t.Context(), ledger.Job{ID: 7, State: ledger.Processing, Ready: true}, now)); err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(text.String(), want) || pausing == strings.Contains(text.String(), "/pause") {
			t.Errorf("pausing %v: %s", pausing, text.String())
		}
	}
}

// TestWaitingSaidOnce: what a paused job waits for is in its progress and not repeated as its reason; another reason
// stays.
func TestWaitingSaidOnce(t *testing.T) {
	b := &Board{}
	const wait = "lay a fresh sheet on the plotter: sheet 2 of 3"
	now := map[int64]progress{7: progressOf(control.Progress{Job: 7, Bytes: 1, Total: 2, Piece: -1, Waiting: wait, Person: true})}
	j := ledger.Job{ID: 7, State: ledger.Stopped, Ready: true, Reason: wait}
	b.o.Room = func() *config.Workroom {
		return &config.Workroom{Devices: map[string]config.Device{"": {Profile: devices.Profile{Kind: devices.PenPlotter}}}}
	}
	c := b.cardOf(t.Context(), j, now)
	if got := c.Progress.Text + "; " + c.Why; strings.Count(got, wait) != 1 {
		t.Errorf("%q", got)
	}
	if c := b.cardOf(t.Context(), j, nil); c.Why != wait {
		t.Errorf("without progress: %q", c.Why)
	}
	if got := progressOf(control.Progress{Total: 2, Piece: -1, Waiting: "the machine to confirm that it stands"}).Text; got != "0 % sent; waits for the machine to confirm that it stands" {
		t.Errorf("of a machine that is waited for: %q", got)
	}
	j.Reason = "the pen is worn"
	if c := b.cardOf(t.Context(), j, now); c.Why != j.Reason {
		t.Errorf("another reason: %q", c.Why)
	}
}

// TestWidthWithoutAUnit: a width without a unit is in the workroom's unit (1 in = 25.4 mm, by the agreement of 1959).
func TestWidthWithoutAUnit(t *testing.T) {
	for unit, want := range map[string]float64{"mm": 140, "cm": 1400, "in": 3556} {
		file := filepath.Join(t.TempDir(), "workroom.yaml")
		if err := os.WriteFile(file, []byte(strings.Replace(string(config.SampleFile()), "units: mm", "units: "+unit, 1)), 0o600); err != nil {
			t.Fatal(err)
		}
		room, err := config.Load(file, pattern.RuleNames())
		if err != nil {
			t.Fatal(err)
		}
		b := &Board{}
		b.o.Room = func() *config.Workroom { return room }
		if wish, err := b.wishOf(layForm{Width: "140"}, 1); err != nil || wish.Width != want {
			t.Errorf("140 in %s: %v mm, %v", unit, wish.Width, err)
		}
	}
}

package pipeline

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/config"
	"tracewheel/devices/hpgl"
	"tracewheel/geom"
	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/newroom"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/store"
	"tracewheel/pipeline/verify"
)

// polygonDraft is a drawing in mm of one piece of those corners, which is cut so often.
func polygonDraft(piece string, quantity int, corners ...orb.Point) string {
	var points []string
	for _, c := range corners {
		points = append(points, fmt.Sprintf("%g,%g", c[0], c[1]))
	}
	return fmt.Sprintf(`<svg xmlns="http://www.w3.org/2000/svg" width="900mm" height="900mm" viewBox="0 0 900 900"><g data-piece=%q data-quantity="%d"><polygon class="cut" points="%s"/></g></svg>`,
		piece, quantity, strings.Join(points, " "))
}

var (
	triangleDraft = polygonDraft("gusset", 1, orb.Point{0, 0}, orb.Point{300, 0}, orb.Point{0, 400})
	elbowDraft    = polygonDraft("elbow", 1, orb.Point{0, 0}, orb.Point{250, 0}, orb.Point{250, 90}, orb.Point{110, 90}, orb.Point{110, 210}, orb.Point{0, 210})
)

// sides are the lengths of a closed line's sides, whole mm, from its longest on; both hands give the same.
func sides(p geom.Path) string {
	var all []int
	for i, a := range p.Points {
		if d := int(math.Round(geom.Dist(a, p.Points[(i+1)%len(p.Points)]))); d > 0 {
			all = append(all, d)
		}
	}
	slices.Sort(all)
	return fmt.Sprint(all)
}

// plotted are the closed lines of a plot that are as large as a piece, by the reader of plots.
func plotted(t *testing.T, program []byte) (all []geom.Path) {
	t.Helper()
	read, err := hpgl.Read(program, hpgl.ReadOptions{})
	if err != nil || len(read.Errors()) > 0 {
		t.Fatal(err, read.Errors())
	}
	for _, tr := range read.Traces {
		if p := tr.Path; p.Closed && math.Abs(p.SignedArea()) > 15000 {
			all = append(all, p)
		}
	}
	return all
}

// TestDraftsOfATicketInOneLay: the drafts that a ticket names are drawn with its own as one job, each as often as the
// ticket says, nothing on anything else, and what was read is kept with the job: made again, it is the same bytes
// although the drafts are gone or others.
func TestDraftsOfATicketInOneLay(t *testing.T) {
	h := daemontest.New(t)
	root := filepath.Join(h.Dir, "wardrobe")
	if _, err := newroom.Write(root, making.Sample()); err != nil {
		t.Fatal(err)
	}
	room, err := config.Load(filepath.Join(root, "workroom.yaml"), pattern.RuleNames())
	if err != nil {
		t.Fatal(err)
	}
	h.Settings.Store, h.Settings.Drafts = room.Path(room.Folders.Store), room.Path("drafts")
	h.Options.Build = func(ctx context.Context, in job.Draft) (job.Made, error) { return making.New(room).Build(ctx, in) }
	h.Start()
	if err := os.WriteFile(filepath.Join(h.Settings.Drafts, "elbow.svg"), []byte(elbowDraft), 0o600); err != nil {
		t.Fatal(err)
	}
	jobs, st := h.Daemon.Jobs(), store.Look(h.Settings.Store)
	h.DropWhole("roll-plotter", "gusset.ticket.yaml", "allowance: included\nwith: [strip.svg, {file: elbow.svg, copies: 2}]\n")
	h.DropWhole("roll-plotter", "gusset.svg", triangleDraft)
	h.Until("the draft waits for the one that its ticket names", func() bool {
		list := h.Daemon.Jobs().Untaken()
		return len(list) == 1 && list[0].File == "gusset.svg" && strings.Contains(list[0].Why, "its ticket gusset.ticket.yaml names strip.svg, which is neither here nor in the workroom's folder drafts")
	})
	h.DropWhole("roll-plotter", "strip.svg", polygonDraft("strip", 1, orb.Point{0, 0}, orb.Point{500, 0}, orb.Point{500, 60}, orb.Point{0, 60}))
	var first ledger.Job
	h.Until("one job", func() bool {
		list, err := jobs.Jobs(t.Context(), ledger.Filter{})
		if err == nil && len(list) > 0 {
			first = list[0]
		}
		return first.State.Ended()
	})
	if first.State != ledger.Completed || first.File != "gusset.svg" {
		t.Fatalf("%+v", first)
	}
	program := func(id int64) []byte {
		data, err := st.Read(id, store.ProgramBytes)
		if err != nil {
			t.Fatal(err)
		}
		return data
	}
	want := []string{"[300 400 500]", "[60 60 500 500]"}
	elbow := "[90 110 120 140 210 250]"
	check := func(id int64) {
		t.Helper()
		var got []string
		lines := plotted(t, program(id))
		for i, a := range lines {
			got = append(got, sides(a))
			for _, b := range lines[:i] {
				if len(geom.Crossings(a, b)) > 0 || a.Contains(b.Points[0]) || b.Contains(a.Points[0]) {
					t.Errorf("job %d: %s and %s lie on one another", id, sides(a), sides(b))
				}
			}
		}
		slices.Sort(got)
		all := append(slices.Clone(want), elbow)
		slices.Sort(all)
		if !slices.Equal(got, all) {
			t.Errorf("job %d: the plot has pieces with the sides %v, not %v", id, got, all)
		}
	}
	check(first.ID)
	if first.Pieces != 3 || first.Style != "gusset and strip and elbow" {
		t.Errorf("%d pieces of %q", first.Pieces, first.Style)
	}
	for name, content := range map[string]string{"elbow.svg": elbowDraft} {
		if got, err := st.Read(first.ID, ledger.WithFile(name)); err != nil || string(got) != content {
			t.Errorf("%s is not kept with the job: %v", name, err)
		}
	}
	if left, err := os.ReadDir(filepath.Join(h.Settings.Inbox, "roll-plotter")); err != nil || len(left) != 0 {
		t.Errorf("in the inbox are left %v, %v", left, err)
	}
	if problems := verify.Verify(h.Settings.Store); len(problems) != 0 {
		t.Errorf("verify: %v", problems)
	}

	if err := os.WriteFile(filepath.Join(h.Settings.Drafts, "elbow.svg"), []byte(triangleDraft), 0o600); err != nil {
		t.Fatal(err)
	}
	n, _, err := jobs.AgainPieces(t.Context(), first.ID, "", "")
	if err != nil {
		t.Fatal(err)
	}
	h.Becomes(n, ledger.Completed)
	if check(n); bytes.Equal(program(n), program(first.ID)) { // each piece bears its job's number
		t.Error("the number of the job is on no piece")
	}
	if list, err := jobs.Jobs(t.Context(), ledger.Filter{}); err != nil || len(list) != 2 {
		t.Errorf("%d jobs, %v", len(list), err)
	}

	// A person changes what is kept: it is told, and nothing is made of it.
	kept := ledger.WithFile("strip.svg")
	was, err := st.Read(first.ID, kept)
	if err != nil {
		t.Fatal(err)
	}
	write := func(data []byte) {
		if err := os.WriteFile(filepath.Join(st.JobDir(first.ID), kept), data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	write([]byte(elbowDraft))
	defer write(was) // the workroom is verified when it is closed
	if problems := verify.Verify(h.Settings.Store); len(problems) != 1 || !strings.Contains(problems[0].String(), kept) {
		t.Errorf("verify: %v", problems)
	}
	if _, _, err := jobs.AgainPieces(t.Context(), first.ID, "", ""); err == nil || !strings.Contains(err.Error(), kept) {
		t.Errorf("made again of a changed draft: %v", err)
	}
}

// TestRefusedWithItsDrafts: where one of the drafts is refused the job is, and all that was dropped comes back together; on
// a sheet printer too.
func TestRefusedWithItsDrafts(t *testing.T) {
	h := daemontest.New(t)
	room := making.Sample()
	h.Settings.Devices = append(h.Settings.Devices, job.Device{Name: "office-printer"})
	h.Options.Build = func(ctx context.Context, in job.Draft) (job.Made, error) { return making.New(room).Build(ctx, in) }
	h.Start()
	for i, device := range []string{"roll-plotter", "office-printer"} {
		h.DropWhole(device, "gusset.ticket.yaml", "copys: 2\nallowance: included\nwith: [report.txt, tracewheel-report.txt, elbow.svg]\n")
		h.DropWhole(device, "elbow.svg", elbowDraft)
		h.DropWhole(device, "report.txt", "no draft")
		h.DropWhole(device, "tracewheel-report.txt", "no draft either")
		h.DropWhole(device, "gusset.svg", triangleDraft)
		var j ledger.Job
		h.Until("it is refused on "+device, func() bool {
			list, err := h.Daemon.Jobs().Jobs(t.Context(), ledger.Filter{Device: device})
			if err == nil && len(list) > 0 {
				j = list[0]
			}
			return j.State.Ended()
		})
		if j.State != ledger.Aborted || !strings.Contains(j.Reason, "there is no such key; did you mean copies?") {
			t.Errorf("%s: %+v", device, j)
		}
		if list, err := h.Daemon.Jobs().Jobs(t.Context(), ledger.Filter{}); err != nil || len(list) != i+1 {
			t.Errorf("%d jobs, %v", len(list), err)
		}
		folders, err := filepath.Glob(filepath.Join(h.Settings.Returned, fmt.Sprintf("*%d*", j.ID)))
		if err != nil || len(folders) != 1 {
			t.Fatal(folders, err)
		}
		for name, want := range map[string]string{"gusset.svg": triangleDraft, "elbow.svg": elbowDraft, "report.txt": "no draft", "tracewheel-report.txt": "no draft either"} {
			if got, err := os.ReadFile(filepath.Join(folders[0], name)); err != nil || string(got) != want {
				t.Errorf("%s: %s came back as %.40q, %v", device, name, got, err)
			}
		}
		if text, err := os.ReadFile(filepath.Join(folders[0], "tracewheel-tracewheel-report.txt")); err != nil || !strings.Contains(string(text), "did you mean copies?") {
			t.Errorf("%s: the report is %.80q, %v", device, text, err)
		}
	}
}

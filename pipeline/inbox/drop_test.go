package inbox

import (
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
	"tracewheel/pipeline/store/faultfs"
)

// late is a disk on which another's draft of the name comes just after the look for it.
type late struct {
	store.Disk
	file string
}

func (l late) Lstat(name string) (fs.FileInfo, error) {
	info, err := l.Disk.Lstat(name)
	if name == l.file && err != nil {
		_ = os.WriteFile(name, []byte("theirs"), 0o600)
	}
	return info, err
}

// TestDrop: a draft that waits keeps its place and gets nobody else's ticket, whether it lies there before or
// comes meanwhile; what is dropped lies there whole, and nothing hidden stays.
func TestDrop(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "smock.yaml")
	if err := Drop(late{file: file}, dir, "smock.yaml", []byte("mine"), []byte("copies: 9\n")); !errors.Is(err, fs.ErrExist) {
		t.Errorf("beside one that comes meanwhile: %v", err)
	}
	if err := Drop(store.Disk{}, dir, "smock.yaml", []byte("mine"), []byte("copies: 9\n")); !errors.Is(err, fs.ErrExist) {
		t.Errorf("beside one that waits: %v", err)
	}
	if err := Drop(store.Disk{}, dir, "apron.svg", []byte("<svg/>"), []byte("copies: 2\n")); err != nil {
		t.Error(err)
	}
	if err := Drop(store.Disk{}, dir, "kilt.svg", []byte("<svg/>"), nil); err != nil {
		t.Error(err)
	}
	want := map[string]string{"smock.yaml": "theirs", "apron.svg": "<svg/>", "apron.svg.ticket.yaml": "copies: 2\n", "kilt.svg": "<svg/>"}
	entries, err := os.ReadDir(dir)
	if err != nil || len(entries) != len(want) {
		t.Errorf("there lie %v: %v", entries, err)
	}
	for name, text := range want {
		if got, err := os.ReadFile(filepath.Join(dir, name)); err != nil || string(got) != text {
			t.Errorf("%s holds %q: %v", name, got, err)
		}
	}
}

// TestDropOfSeveral: a draft and those that its ticket names come in the order in which nothing is taken before its
// time, and a power cut before any step leaves no draft that would make a job without its ticket or the others: a cut
// drop makes no job, a whole one makes one.
func TestDropOfSeveral(t *testing.T) {
	const dir = "/inbox/roll-plotter/"
	fresh := func() *faultfs.Memory {
		m := faultfs.NewMemory()
		if err := errors.Join(store.MakeDirs(m, "/store/jobs", 0o755), store.MakeDirs(m, dir, 0o755), m.SyncDir("/inbox"), m.SyncDir("/")); err != nil {
			t.Fatal(err)
		}
		return m
	}
	drop := func(m store.FS) error {
		return Drop(m, dir, "skirt.svg", []byte(draft), []byte("with: [lining.svg, pocket.yaml]\n"),
			Dropped{"lining.svg", []byte(lining)}, Dropped{"pocket.yaml", []byte("style: pocket\n")})
	}
	whole := fresh()
	before := whole.Count()
	rec := faultfs.Record(whole)
	if err := drop(rec); err != nil {
		t.Fatal(err)
	}
	var named []string
	for _, op := range rec.Ops() {
		if words := strings.Fields(op); words[0] == "rename" {
			named = append(named, words[2])
		}
	}
	if want := []string{"skirt.svg.ticket.yaml", "lining.svg", "pocket.yaml", "skirt.svg"}; !slices.Equal(named, want) {
		t.Fatalf("they get their names in the order %v", named)
	}
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 5))
	steps := whole.Count() - before
	if steps < 12 {
		t.Fatalf("only %d steps", steps)
	}
	for step := 1; step <= steps+1; step++ {
		for luck := range 6 {
			m := fresh()
			m.StopAfter = m.Count() + step
			if err := drop(m); (err == nil) != (step > steps) {
				t.Fatalf("step %d of %d: %v", step, steps, err)
			}
			after := m.Crash(nil)
			if luck > 0 {
				after = m.Crash(rnd)
			}
			takeAll(t, fmt.Sprintf("step %d of %d, luck %d", step, steps, luck), after, step > steps)
		}
	}
}

// takeAll has an inbox look at all that lies there after a cut.
func takeAll(t *testing.T, where string, m *faultfs.Memory, whole bool) {
	t.Helper()
	b := newBook()
	taker := takerOn(m, b)
	files := m.Files()
	for _, name := range []string{"lining.svg", "pocket.yaml", "skirt.svg"} {
		_, there := files["/inbox/roll-plotter/"+name]
		if _, held := files["/inbox/roll-plotter/skirt.svg.ticket.yaml"]; there && !held {
			t.Errorf("%s: %s lies there without the ticket that holds it: %v", where, name, files)
		}
	}
	if info, err := m.Lstat("/inbox/roll-plotter/skirt.svg"); err == nil {
		_, err := takeOne(t.Context(), taker, Take{Device: "roll-plotter", Entry: entryOf(info)})
		if err != nil {
			t.Errorf("%s: the draft lies there and is not taken: %v", where, err)
		}
	} else if _, there := files["/inbox/roll-plotter/skirt.svg.ticket.yaml"]; there {
		told := Look(m, "/inbox", []string{"roll-plotter"}, "")
		if !slices.ContainsFunc(told, func(u ledger.Untaken) bool { return u.File == "skirt.svg.ticket.yaml" }) {
			t.Errorf("%s: nobody tells of the ticket: %v", where, told)
		}
	}
	if len(b.entered) > 1 || whole && len(b.entered) != 1 {
		t.Errorf("%s: %d jobs", where, len(b.entered))
	}
	for _, a := range b.entered {
		kept := 0
		for _, f := range a.Files {
			if _, is := f.With(); is {
				kept++
			}
		}
		if kept != 2 || a.Ticket == "" {
			t.Errorf("%s: a job of %d named drafts and the ticket %q", where, kept, a.Ticket)
		}
	}
}

// TestNoneOfSeveralIsLeft: where one of several lies there already, nothing new stays.
func TestNoneOfSeveralIsLeft(t *testing.T) {
	for _, there := range []string{"skirt.svg", "lining.svg", "skirt.svg.ticket.yaml"} {
		dir := t.TempDir()
		if err := os.WriteFile(filepath.Join(dir, there), []byte("theirs"), 0o600); err != nil {
			t.Fatal(err)
		}
		for i, fsys := range []store.FS{store.Disk{}, late{file: filepath.Join(dir, there)}} {
			if i > 0 && strings.HasSuffix(there, ".ticket.yaml") {
				break // nobody looks for a ticket before it is put there
			}
			err := Drop(fsys, dir, "skirt.svg", []byte("mine"), []byte("with: [lining.svg]\n"), Dropped{"lining.svg", []byte("mine")})
			entries, rerr := os.ReadDir(dir)
			if !errors.Is(err, fs.ErrExist) || !strings.Contains(err.Error(), "skirt.svg") && there != "lining.svg" || rerr != nil || len(entries) != 1 {
				t.Errorf("%s: %v; there lie %v, %v", there, err, entries, rerr)
			}
			if err := os.Remove(filepath.Join(dir, there)); err != nil { // it comes meanwhile, next
				t.Fatal(err)
			}
		}
	}
}

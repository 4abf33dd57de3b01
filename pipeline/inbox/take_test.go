package inbox

import (
	"context"
	"errors"
	"fmt"
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

// book is a ledger of which every entry is durable at once, as SQLite's is with synchronous FULL.
type book struct {
	next    int64
	entered map[int64]ledger.Arrival
	late    []int64
	note    func(string)
	off     func() bool // the power is cut
}

func newBook() *book {
	return &book{next: 1, entered: map[int64]ledger.Arrival{}, note: func(string) {}, off: func() bool { return false }}
}

func (b *book) Reserve() int64 { b.next++; return b.next - 1 }

func (b *book) Known(_ context.Context, id int64) (bool, error) {
	_, ok := b.entered[id]
	return ok, nil
}

func (b *book) Enter(_ context.Context, all ...ledger.Arrival) error {
	if b.off() {
		return faultfs.ErrStopped
	}
	for _, a := range all {
		if _, ok := b.entered[a.ID]; ok {
			return fmt.Errorf("job %d is entered already", a.ID)
		}
	}
	for _, a := range all {
		b.note(fmt.Sprintf("enter job %d", a.ID))
		b.entered[a.ID] = a
	}
	return nil
}

func (b *book) StillThere() error { return nil }

func (b *book) Late(_ context.Context, id int64) error {
	b.late = append(b.late, id)
	return nil
}

const draft, card = "<svg>the draft</svg>", "copies: 2\n"

func lay(t *testing.T, m *faultfs.Memory, ticket bool) {
	t.Helper()
	err := m.Put("/inbox/roll-plotter/skirt.svg", draft, true)
	if ticket {
		err = errors.Join(err, m.Put("/inbox/roll-plotter/skirt.ticket.yaml", card, true))
	}
	if err = errors.Join(err, store.MakeDirs(m, "/store/jobs", 0o755)); err != nil {
		t.Fatal(err)
	}
}

// lining is a draft that a ticket names beside its own.
const lining, withLining = "<svg>the lining</svg>", "with: [lining.svg]\n"

// layWith lays the draft, its ticket unless that is "", and the draft that this names.
func layWith(t *testing.T, m *faultfs.Memory, ticket string) {
	t.Helper()
	lay(t, m, ticket != "")
	if ticket == withLining {
		if err := errors.Join(m.Put("/inbox/roll-plotter/skirt.ticket.yaml", ticket, true), m.Put("/inbox/roll-plotter/lining.svg", lining, true)); err != nil {
			t.Fatal(err)
		}
	}
}

func takerOn(fsys store.FS, b Book) *Taker {
	return &Taker{FS: fsys, Store: store.In("/store", fsys), Book: b, Root: "/inbox"}
}

func takeSkirt(fsys store.FS, b Book) error {
	info, err := fsys.Lstat("/inbox/roll-plotter/skirt.svg")
	if err != nil {
		return err
	}
	_, err = takeOne(context.Background(), takerOn(fsys, b), Take{Device: "roll-plotter", Entry: entryOf(info)})
	return err
}

// TestOrderOfSyncs holds that each step is durable before the next begins: the claim's name before
// the copy, content and name of the copy before the ledger, the ledger before the removal.
func TestOrderOfSyncs(t *testing.T) {
	m := faultfs.NewMemory()
	lay(t, m, true)
	rec := faultfs.Record(m)
	b := newBook()
	b.note = rec.Note
	if err := takeSkirt(rec, b); err != nil {
		t.Fatal(err)
	}
	want := []string{
		"rename skirt.svg .taken-1-skirt.svg",
		"rename skirt.ticket.yaml .taken-1-ticket-skirt.ticket.yaml", "syncdir roll-plotter",
		"mkdir 1",
		"create .part-original.svg", "write .part-original.svg", "sync .part-original.svg",
		"rename .part-original.svg original.svg",
		"create .part-ticket.yaml", "write .part-ticket.yaml", "sync .part-ticket.yaml",
		"rename .part-ticket.yaml ticket.yaml", "syncdir 1", "syncdir jobs",
		"enter job 1",
		"remove .taken-1-skirt.svg", "remove .taken-1-ticket-skirt.ticket.yaml",
	}
	if got := rec.Ops(); !slices.Equal(got, want) {
		t.Errorf("the steps were\n%s\nand not\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// TestPowerCutAtEveryStep cuts the power before every single operation, with nothing kept that was
// not synced and with every mixture that chance gives, and has a restart finish. The draft is never
// lost meanwhile, and in the end it is one job, with its ticket.
func TestPowerCutAtEveryStep(t *testing.T) {
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 2))
	count := func(m *faultfs.Memory) int {
		before := m.Count()
		if err := takeSkirt(m, newBook()); err != nil {
			t.Fatal(err)
		}
		return m.Count() - before
	}
	for _, ticket := range []string{"", card, withLining} {
		with := ticket == withLining
		m := faultfs.NewMemory()
		layWith(t, m, ticket)
		steps := count(m)
		if steps < 10 {
			t.Fatalf("only %d steps", steps)
		}
		for step := 1; step <= steps; step++ {
			for luck := range 6 {
				m := faultfs.NewMemory()
				layWith(t, m, ticket)
				m.StopAfter = m.Count() + step
				b := newBook()
				b.off = func() bool { return m.Count() >= m.StopAfter }
				if err := takeSkirt(m, b); err == nil {
					t.Fatalf("step %d of %d was not cut", step, steps)
				}
				after := m.Crash(nil)
				if luck > 0 {
					after = m.Crash(rnd)
				}
				where := fmt.Sprintf("ticket %q, step %d of %d, luck %d", ticket, step, steps, luck)
				finishAfterCut(t, where, after, b, ticket, with)
			}
		}
	}
}

func finishAfterCut(t *testing.T, where string, after *faultfs.Memory, b *book, ticket string, with bool) {
	t.Helper()
	files := after.Files()
	inInbox, inStore, lined := false, false, !with
	for path, content := range files {
		if with && content == lining {
			lined = true
		}
		if content == draft {
			inInbox = inInbox || strings.HasPrefix(path, "/inbox/")
			_, entered := b.entered[1]
			inStore = inStore || entered && path == "/store/jobs/1/original.svg"
		}
	}
	if !inInbox && !inStore || !lined {
		t.Errorf("%s: lost: %q", where, files)
	}
	again := newBook()
	again.entered, again.next = b.entered, b.next
	taker := takerOn(after, again)
	if _, err := taker.Finish(context.Background(), "roll-plotter"); err != nil {
		t.Errorf("%s: %v", where, err)
	}
	if err := takeSkirt(after, again); err != nil && !os.IsNotExist(err) {
		t.Errorf("%s: %v", where, err)
	}
	if len(again.entered) != 1 {
		t.Errorf("%s: %d jobs", where, len(again.entered))
	}
	for path := range after.Files() {
		if strings.HasPrefix(path, "/inbox/") {
			t.Errorf("%s: left in the inbox: %s", where, path)
		}
	}
	for id, a := range again.entered {
		dir := fmt.Sprintf("/store/jobs/%d/", id)
		if got := after.Files()[dir+"original.svg"]; got != draft || a.File != "skirt.svg" {
			t.Errorf("%s: job %d of %q holds %q", where, id, a.File, got)
		}
		if got := after.Files()[dir+"ticket.yaml"]; ticket != "" && (got != ticket || a.Ticket == "") {
			t.Errorf("%s: the ticket of job %d is %q", where, id, got)
		}
		if got := after.Files()[dir+ledger.WithFile("lining.svg")]; with && (got != lining || !slices.ContainsFunc(a.Files, func(f ledger.File) bool { _, is := f.With(); return is })) {
			t.Errorf("%s: the draft that the ticket of job %d names is %q", where, id, got)
		}
	}
}

// TestChangedWhileRead lets somebody write into a file while it is copied: what arrives is whole,
// and nothing that was written later is removed unread.
func TestChangedWhileRead(t *testing.T) {
	dir := t.TempDir()
	b := newBook()
	faulty := faultfs.Fail(store.Disk{})
	faulty.CannotTell() // else the writer is seen before
	taker := &Taker{FS: faulty, Store: store.In(filepath.Join(dir, "store"), faulty), Book: b, Root: filepath.Join(dir, "inbox")}
	folder := taker.Dir("roll-plotter")
	if err := errors.Join(os.MkdirAll(folder, 0o755), os.MkdirAll(filepath.Join(dir, "store", "jobs"), 0o755)); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(folder, "skirt.svg")
	if err := os.WriteFile(path, []byte("half"), 0o644); err != nil {
		t.Fatal(err)
	}
	writer, err := os.OpenFile(path, os.O_WRONLY|os.O_APPEND, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer writer.Close()
	once := true
	faulty.WhileReading("skirt.svg", func() {
		if once {
			once = false
			if _, err := writer.WriteString(" and half"); err != nil {
				t.Error(err)
			}
		}
	})
	info, err := os.Lstat(path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := takeOne(t.Context(), taker, Take{Device: "roll-plotter", Entry: entryOf(info), Unsure: true}); !errors.Is(err, ErrChanging) {
		t.Fatalf("taking a file that changes gives %v", err)
	}
	if len(b.entered) != 0 {
		t.Fatalf("half a file became a job: %v", b.entered)
	}
	faulty.Clear()
	if _, err := taker.Finish(t.Context(), "roll-plotter"); err != nil {
		t.Fatal(err)
	}
	for id := range b.entered {
		if got, err := taker.Store.Read(id, "original.svg"); err != nil || string(got) != "half and half" {
			t.Errorf("job %d is %q, %v", id, got, err)
		}
	}
	if len(b.entered) != 1 {
		t.Errorf("%d jobs", len(b.entered))
	}
}

// TestSharedTicket: two files of one name share their ticket, which goes with the last of them.
func TestSharedTicket(t *testing.T) {
	m := faultfs.NewMemory()
	lay(t, m, true)
	if err := m.Put("/inbox/roll-plotter/skirt.dxf", "dxf", true); err != nil {
		t.Fatal(err)
	}
	b := newBook()
	for _, name := range []string{"skirt.dxf", "skirt.svg"} {
		info, err := m.Lstat("/inbox/roll-plotter/" + name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := takeOne(t.Context(), takerOn(m, b), Take{Device: "roll-plotter", Entry: entryOf(info)}); err != nil {
			t.Fatal(err)
		}
	}
	for id := range b.entered {
		if got := m.Files()[fmt.Sprintf("/store/jobs/%d/ticket.yaml", id)]; got != card {
			t.Errorf("the ticket of job %d is %q", id, got)
		}
	}
	for path := range m.Files() {
		if strings.HasPrefix(path, "/inbox/") {
			t.Errorf("left in the inbox: %s", path)
		}
	}
}

// TestTicketOfWholeName: a ticket that names its file with the ending goes with that file alone, and before
// one of the short name; what is no file's ticket is listed.
func TestTicketOfWholeName(t *testing.T) {
	const at = "/inbox/roll-plotter/"
	for _, order := range [][]string{{"skirt.svg", "skirt.dxf"}, {"skirt.dxf", "skirt.svg"}} {
		m := faultfs.NewMemory()
		lay(t, m, true)
		if err := errors.Join(m.Put(at+"skirt.svg.ticket.yaml", "copies: 7\n", true), m.Put(at+"skirt.dxf", "dxf", true), m.Put(at+"hat.svg.ticket.yaml", card, true)); err != nil {
			t.Fatal(err)
		}
		list := Look(m, "/inbox", []string{"roll-plotter"}, "")
		if len(list) != 1 || list[0].File != "hat.svg.ticket.yaml" {
			t.Errorf("before the files are taken %v is listed", list)
		}
		b := newBook()
		for _, name := range order {
			want := map[string]string{"skirt.svg": "copies: 7\n", "skirt.dxf": card}[name]
			info, err := m.Lstat(at + name)
			if err != nil {
				t.Fatal(err)
			}
			job, err := takeOne(t.Context(), takerOn(m, b), Take{Device: "roll-plotter", Entry: entryOf(info)})
			if err != nil {
				t.Fatal(err)
			}
			if got := m.Files()[fmt.Sprintf("/store/jobs/%d/ticket.yaml", job)]; got != want {
				t.Errorf("the ticket of %s is %q, want %q", name, got, want)
			}
		}
		for path := range m.Files() {
			if strings.HasPrefix(path, at) && path != at+"hat.svg.ticket.yaml" {
				t.Errorf("left in the inbox: %s", path)
			}
		}
	}
}

// takeOne takes one file through all steps.
func takeOne(ctx context.Context, t *Taker, take Take) (job int64, err error) {
	r := t.takeAll(ctx, []Take{take})[0]
	return r.Job, r.Err
}

package inbox

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/fsnotify/fsnotify"
	"go.uber.org/goleak"
	"go.uber.org/zap"
	"go.uber.org/zap/zaptest/observer"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
	"tracewheel/pipeline/store/faultfs"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// pretendHints are events that the test sends itself, or fails to.
type pretendHints struct {
	events chan fsnotify.Event
	errs   chan error
}

func (h pretendHints) Add(string) error              { return nil }
func (h pretendHints) Watching(string) bool          { return true }
func (h pretendHints) Events() <-chan fsnotify.Event { return h.events }
func (h pretendHints) Errors() <-chan error          { return h.errs }
func (h pretendHints) Close() error                  { return nil }

// safeBook is a book that two goroutines may use.
type safeBook struct {
	mu sync.Mutex
	*book
	at []time.Time
}

func (b *safeBook) Reserve() int64 { b.mu.Lock(); defer b.mu.Unlock(); return b.book.Reserve() }
func (b *safeBook) Known(ctx context.Context, id int64) (bool, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.book.Known(ctx, id)
}
func (b *safeBook) Enter(ctx context.Context, all ...ledger.Arrival) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.at = append(b.at, time.Now())
	return b.book.Enter(ctx, all...)
}
func (b *safeBook) count() int { b.mu.Lock(); defer b.mu.Unlock(); return len(b.entered) }

type watched struct {
	m    *faultfs.Memory
	b    *safeBook
	h    pretendHints
	in   *Inbox
	logs *observer.ObservedLogs
}

// inBubble runs an inbox on a file system in memory with a clock that the test moves.
func inBubble(t *testing.T, fn func(t *testing.T, w watched)) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		core, logs := observer.New(zap.DebugLevel)
		w := watched{m: faultfs.NewMemory(), b: &safeBook{book: newBook()}, logs: logs,
			h: pretendHints{make(chan fsnotify.Event), make(chan error)}}
		if err := store.MakeDirs(w.m, "/store/jobs", 0o755); err != nil {
			t.Fatal(err)
		}
		w.in = newInbox(takerOn(w.m, w.b), []string{"roll-plotter"}, Settings{Rescan: time.Minute, Limit: 20 * time.Second}, zap.New(core), w.h)
		ctx, cancel := context.WithCancel(t.Context())
		var run sync.WaitGroup
		run.Go(func() { w.in.Run(ctx) })
		synctest.Wait()
		fn(t, w)
		cancel()
		run.Wait()
	})
}

func (w watched) put(t *testing.T, name, content string) {
	t.Helper()
	if err := w.m.Put("/inbox/roll-plotter/"+name, content, true); err != nil {
		t.Fatal(err)
	}
}

func (w watched) event(name string, op fsnotify.Op) {
	w.h.events <- fsnotify.Event{Name: "/inbox/roll-plotter/" + name, Op: op}
	synctest.Wait()
}

func pass(d time.Duration) {
	time.Sleep(d)
	synctest.Wait()
}

func TestEventStartsTheClock(t *testing.T) {
	inBubble(t, func(t *testing.T, w watched) {
		w.put(t, "skirt.svg", "half")
		w.event("skirt.svg", fsnotify.Create)
		pass(500 * time.Millisecond)
		w.put(t, "skirt.svg", "half and half")
		w.event("skirt.svg", fsnotify.Write)
		pass(749 * time.Millisecond)
		if w.b.count() != 0 {
			t.Error("taken before it settled")
		}
		pass(2 * time.Millisecond)
		if w.b.count() != 1 {
			t.Errorf("%d jobs", w.b.count())
		}
	})
}

func TestWithoutEventsTheTimerFinds(t *testing.T) {
	inBubble(t, func(t *testing.T, w watched) {
		w.put(t, "skirt.svg", "x") // a network share sends no events
		pass(59 * time.Second)
		if w.b.count() != 0 {
			t.Error("found too early")
		}
		pass(2 * time.Second)
		if w.b.count() != 1 {
			t.Errorf("%d jobs", w.b.count())
		}
	})
}

func TestOverflowLooksThroughAll(t *testing.T) {
	inBubble(t, func(t *testing.T, w watched) {
		for i := range 50 {
			w.put(t, fmt.Sprintf("p%02d.svg", i), fmt.Sprint(i))
		}
		w.h.errs <- fsnotify.ErrEventOverflow
		pass(800 * time.Millisecond)
		if w.b.count() != 50 {
			t.Errorf("%d jobs", w.b.count())
		}
	})
}

// TestGrowingForEver: a file that never rests is tried at the limit, and not taken while it changes.
func TestGrowingForEver(t *testing.T) {
	inBubble(t, func(t *testing.T, w watched) {
		for i := range 100 {
			w.put(t, "log.svg", fmt.Sprint("line ", i))
			w.event("log.svg", fsnotify.Write)
			pass(500 * time.Millisecond)
		}
		// It can be read whole and does not change while it is read, so at the limit it is taken. What
		// comes after is a new drop.
		if w.b.count() < 1 || w.b.count() > 3 {
			t.Errorf("%d jobs in 50 s", w.b.count())
		}
	})
}

func TestStartFinishesClaims(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		m, b := faultfs.NewMemory(), &safeBook{book: newBook()}
		err := errors.Join(m.Put("/inbox/roll-plotter/.taken-1-skirt.svg", "x", true), m.Put("/inbox/roll-plotter/.taken-2-vest.svg", "y", true),
			m.Put("/store/jobs/2/original.svg", "y", true),
			store.MakeDirs(m, "/store/jobs", 0o755))
		if err != nil {
			t.Fatal(err)
		}
		b.next = 3
		b.entered[2] = ledger.Arrival{ID: 2} // killed between the ledger and the removal
		in := newInbox(takerOn(m, b), []string{"roll-plotter"}, Settings{}, zap.NewNop(), noHints{})
		ctx, cancel := context.WithCancel(t.Context())
		var run sync.WaitGroup
		run.Go(func() { in.Run(ctx) })
		pass(time.Second)
		if b.count() != 2 || b.entered[1].File != "skirt.svg" {
			t.Errorf("%+v", b.entered)
		}
		for path := range m.Files() {
			if filepath.Dir(path) == "/inbox/roll-plotter" {
				t.Errorf("left: %s", path)
			}
		}
		cancel()
		run.Wait()
	})
}

func TestLoneTicketIsToldOnce(t *testing.T) {
	inBubble(t, func(t *testing.T, w watched) {
		w.put(t, "skirt.ticket.yaml", "copies: 2\n")
		pass(61 * time.Second) // the first look through the folder: listed, but perhaps its file is coming
		if list := w.in.Untaken(); len(list) != 1 || list[0].File != "skirt.ticket.yaml" || w.logs.FilterMessageSnippet("no file of its name").Len() != 0 {
			t.Errorf("soon listed as %v, or told too soon", list)
		}
		pass(10 * time.Minute)
		if n := w.logs.FilterMessageSnippet("no file of its name").Len(); n != 1 || w.b.count() != 0 {
			t.Errorf("told %d times, %d jobs", n, w.b.count())
		}
	})
}

// TestSystemEvents tries the system's own events once: a file dropped by rename and one written
// slowly, with a timer that would find neither.
func TestSystemEvents(t *testing.T) {
	dir := t.TempDir()
	if err := os.MkdirAll(filepath.Join(dir, "store", "jobs"), 0o755); err != nil {
		t.Fatal(err)
	}
	b := &safeBook{book: newBook()}
	taker := &Taker{FS: store.Disk{}, Store: store.In(filepath.Join(dir, "store"), store.Disk{}), Book: b, Root: filepath.Join(dir, "inbox")}
	in := New(taker, []string{"roll-plotter"}, Settings{Settle: 30 * time.Millisecond, Rescan: time.Hour}, zap.NewNop())
	ctx, cancel := context.WithCancel(t.Context())
	var run sync.WaitGroup
	run.Go(func() { in.Run(ctx) })
	defer run.Wait()
	defer cancel()
	folder := taker.Dir("roll-plotter")
	waitUntil(t, "the folder is made and watched", func() bool { return in.hints.Watching(folder) })
	if err := os.WriteFile(filepath.Join(folder, ".moved.svg.x"), []byte("moved"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Rename(filepath.Join(folder, ".moved.svg.x"), filepath.Join(folder, "moved.svg")); err != nil {
		t.Fatal(err)
	}
	f, err := os.Create(filepath.Join(folder, "slow.svg"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.WriteString("slow"); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	waitUntil(t, "both are taken", func() bool { return b.count() == 2 })
	if _, err := os.Stat(filepath.Join(folder, "moved.svg")); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("still there: %v", err)
	}
}

func waitUntil(t *testing.T, what string, is func() bool) {
	t.Helper()
	for end := time.Now().Add(20 * time.Second); !is(); time.Sleep(time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("never: %s", what)
		}
	}
}

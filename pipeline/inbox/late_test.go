package inbox

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"go.uber.org/zap"

	"tracewheel/devices/needs"
	"tracewheel/pipeline/store"
	"tracewheel/pipeline/store/faultfs"
)

const firstHalf, secondHalf = "garment: smock\npieces: [front]\n", "notches: [10 from U]\n"

// stalls are how long the writers of TestStalledWriters stop between two writes.
func stalls(t *testing.T) (list []time.Duration) {
	text := os.Getenv("TRACEWHEEL_STALLS")
	if text == "" {
		text = "300ms,1s,2s"
	}
	for _, word := range strings.Split(text, ",") {
		d, err := time.ParseDuration(word)
		if err != nil {
			t.Fatalf("TRACEWHEEL_STALLS: %v", err)
		}
		list = append(list, d)
	}
	return list
}

// TestStalledWriters: programs stop between two writes with the file still open, far longer than a
// file must rest. Each draft becomes one job, whole.
func TestStalledWriters(t *testing.T) {
	dir := t.TempDir()
	if err := os.MkdirAll(filepath.Join(dir, "store", "jobs"), 0o755); err != nil {
		t.Fatal(err)
	}
	probe := filepath.Join(dir, "probe")
	if err := os.WriteFile(probe, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	err := (store.Disk{}).NoWriter(probe)
	needs.Right(t, !errors.Is(err, store.ErrCannotTell), "read leases do not work in the temporary folder")
	b := &safeBook{book: newBook()}
	taker := &Taker{FS: store.Disk{}, Store: store.In(filepath.Join(dir, "store"), store.Disk{}), Book: b, Root: filepath.Join(dir, "inbox")}
	in := New(taker, []string{"roll-plotter"}, Settings{Settle: 50 * time.Millisecond, Rescan: time.Second}, zap.NewNop())
	ctx, cancel := context.WithCancel(t.Context())
	var run sync.WaitGroup
	run.Go(func() { in.Run(ctx) })
	defer run.Wait()
	defer cancel()
	folder := taker.Dir("roll-plotter")
	waitUntil(t, "the folder is made and watched", func() bool { return in.hints.Watching(folder) })
	all := stalls(t)
	var writers sync.WaitGroup
	for i, d := range all {
		writers.Go(func() {
			f, err := os.Create(filepath.Join(folder, fmt.Sprintf("smock-%d.yaml", i)))
			if err == nil {
				_, err = f.WriteString(firstHalf)
			}
			time.Sleep(d)
			if err == nil {
				_, err = f.WriteString(secondHalf)
			}
			if err = errors.Join(err, f.Close()); err != nil {
				t.Error(err)
			}
		})
	}
	writers.Wait()
	waitUntil(t, "all are taken", func() bool { return b.count() >= len(all) })
	for id, a := range b.entered {
		if got, err := taker.Store.Read(id, "original.yaml"); err != nil || string(got) != firstHalf+secondHalf {
			t.Errorf("%s became %q, %v", a.File, got, err)
		}
	}
	if b.count() != len(all) || len(b.late) > 0 {
		t.Errorf("%d jobs of %d files, late %v", b.count(), len(all), b.late)
	}
}

// TestWriterBetweenQuestionAndClaim: somebody opens the file after it was asked who writes and before
// it has its hidden name. It gets the file back, and no job is made of it.
func TestWriterBetweenQuestionAndClaim(t *testing.T) {
	m, b := faultfs.NewMemory(), newBook()
	lay(t, m, true)
	writing := true
	m.Writers = func(name string) error {
		if writing && strings.HasPrefix(name, claimPrefix) {
			return store.ErrWriting
		}
		return nil
	}
	taker := takerOn(m, b)
	take := func() error {
		info, err := m.Lstat("/inbox/roll-plotter/skirt.svg")
		if err != nil {
			return err
		}
		_, err = takeOne(t.Context(), taker, Take{Device: "roll-plotter", Entry: entryOf(info)})
		return err
	}
	if err := take(); !errors.Is(err, store.ErrWriting) || len(b.entered) > 0 {
		t.Fatalf("%v, jobs %v", err, b.entered)
	}
	writing = false
	if err := take(); err != nil || len(b.entered) != 1 || b.entered[1].Ticket == "" {
		t.Errorf("%v, jobs %v", err, b.entered)
	}
}

// TestWrittenLate: where nobody tells who writes, a file rests longer, and what is written to it after
// it was taken is told and taken again, also when the program was started anew in between.
func TestWrittenLate(t *testing.T) {
	for _, restart := range []bool{false, true} {
		synctest.Test(t, func(t *testing.T) {
			m, b := faultfs.NewMemory(), &safeBook{book: newBook()}
			m.Writers = func(string) error { return store.ErrCannotTell }
			const at = "/inbox/roll-plotter/"
			put := func(name, content string) {
				t.Helper()
				if err := m.Put(at+name, content, true); err != nil {
					t.Fatal(err)
				}
			}
			if err := store.MakeDirs(m, "/store/jobs", 0o755); err != nil {
				t.Fatal(err)
			}
			put("smock.yaml", firstHalf)
			put("smock.ticket.yaml", card)
			start := func() (stop func()) {
				in := newInbox(takerOn(m, b), []string{"roll-plotter"}, Settings{Rescan: time.Second}, zap.NewNop(), noHints{})
				ctx, cancel := context.WithCancel(t.Context())
				var run sync.WaitGroup
				run.Go(func() { in.Run(ctx) })
				return func() { cancel(); run.Wait() }
			}
			stop := start()
			pass(9 * time.Second)
			if b.count() != 0 {
				t.Error("taken before it had rested longer")
			}
			pass(3 * time.Second)
			if b.count() != 1 || m.Files()[at+".taken-1-smock.yaml"] != firstHalf {
				t.Fatalf("%d jobs, %v", b.count(), m.Files())
			}
			if restart {
				stop()
			}
			put(".taken-1-smock.yaml", firstHalf+secondHalf) // the stalled writer goes on
			if restart {
				stop = start()
			}
			pass(2 * time.Second)
			if len(b.late) != 1 || b.late[0] != 1 {
				t.Errorf("told of %v", b.late)
			}
			pass(20 * time.Minute)
			stop()
			if got := m.Files()["/store/jobs/2/original.yaml"]; b.count() != 2 || got != firstHalf+secondHalf || b.entered[2].Ticket == "" {
				t.Errorf("%d jobs, the second is %q of %+v", b.count(), got, b.entered[2])
			}
			for path := range m.Files() {
				if strings.HasPrefix(path, "/inbox/") {
					t.Errorf("left in the inbox: %s", path)
				}
			}
		})
	}
}

// TestUnreadableKeepsItsName: a file whose reading fails stays in sight and becomes a job once it can
// be read.
func TestUnreadableKeepsItsName(t *testing.T) {
	m, b := faultfs.NewMemory(), newBook()
	lay(t, m, true)
	broken := &unreadable{FS: m}
	taker := takerOn(broken, b)
	for _, broken.opens = range []bool{false, true} {
		info, err := m.Lstat("/inbox/roll-plotter/skirt.svg")
		if err != nil {
			t.Fatal(err)
		}
		if _, err := takeOne(t.Context(), taker, Take{Device: "roll-plotter", Entry: entryOf(info)}); !errors.Is(err, ErrUnreadable) {
			t.Errorf("%v", err)
		}
		if files := m.Files(); files["/inbox/roll-plotter/skirt.svg"] != draft || files["/inbox/roll-plotter/skirt.ticket.yaml"] != card || len(b.entered) > 0 {
			t.Errorf("%v, %v", files, b.entered)
		}
	}
	if err := takeSkirt(m, b); err != nil || len(b.entered) != 1 {
		t.Errorf("%v, %v", err, b.entered)
	}
}

// unreadable is a disk on which the skirt cannot be opened, or not be read.
type unreadable struct {
	store.FS
	opens bool
}

func (u *unreadable) OpenFile(name string, flag int, perm os.FileMode) (store.File, error) {
	if !strings.HasSuffix(name, "-skirt.svg") {
		return u.FS.OpenFile(name, flag, perm)
	}
	if !u.opens {
		return nil, &os.PathError{Op: "open", Path: name, Err: os.ErrPermission}
	}
	f, err := u.FS.OpenFile(name, flag, perm)
	return deaf{f}, err
}

type deaf struct{ store.File }

func (deaf) Read([]byte) (int, error) { return 0, errors.New("input/output error") }

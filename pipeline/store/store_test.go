package store_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/google/go-cmp/cmp"

	"tracewheel/devices"
	"tracewheel/pipeline/store"
	"tracewheel/pipeline/store/faultfs"
)

func onDisk(t *testing.T) *store.Store {
	t.Helper()
	s, err := store.Open(filepath.Join(t.TempDir(), "store"), store.Disk{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

// TestSaveOrder: content before name, name before the return.
func TestSaveOrder(t *testing.T) {
	rec := faultfs.Record(faultfs.NewMemory())
	if err := store.MakeDirs(rec, "/store/jobs", 0o755); err != nil {
		t.Fatal(err)
	}
	before := len(rec.Ops())
	s := store.In("/store", rec)
	if _, err := s.Save(3, "original.svg", strings.NewReader("x")); err != nil {
		t.Fatal(err)
	}
	if _, err := s.SaveAll(3, []store.Named{{Name: "a", Data: []byte("1")}, {Name: "b", Data: []byte("2")}}); err != nil {
		t.Fatal(err)
	}
	want := []string{"mkdir 3", "syncdir jobs",
		"create .part-original.svg", "write .part-original.svg", "sync .part-original.svg", "rename .part-original.svg original.svg", "syncdir 3",
		"create .part-a", "write .part-a", "sync .part-a", "rename .part-a a",
		"create .part-b", "write .part-b", "sync .part-b", "rename .part-b b", "syncdir 3"}
	if got := rec.Ops()[before:]; !slices.Equal(got, want) {
		t.Error(cmp.Diff(want, got))
	}
}

// TestPowerCutWhileSaving: after a cut at any step an older content or the whole new one is there,
// and once Save has returned the new one.
func TestPowerCutWhileSaving(t *testing.T) {
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 3))
	for step := 1; ; step++ {
		m := faultfs.NewMemory()
		if err := m.Put("/store/jobs/1/program.bin", "the old program", true); err != nil {
			t.Fatal(err)
		}
		if err := errors.Join(m.SyncDir("/store"), m.SyncDir("/store/jobs"), m.SyncDir("/")); err != nil {
			t.Fatal(err)
		}
		m.StopAfter = m.Count() + step
		_, err := store.In("/store", m).Save(1, "program.bin", strings.NewReader("the new program"))
		for luck := range 5 {
			var with *rand.Rand
			if luck > 0 {
				with = rnd
			}
			got := m.Crash(with).Files()["/store/jobs/1/program.bin"]
			if got != "the new program" && (err == nil || got != "the old program") {
				t.Errorf("cut at step %d (saving says %v): %q is left", step, err, got)
			}
		}
		if err == nil {
			if step < 5 {
				t.Errorf("only %d steps", step)
			}
			return
		}
	}
}

func TestSaveKeepsNothingHalf(t *testing.T) {
	s := onDisk(t)
	if _, err := s.Save(1, "original.svg", iotest.TimeoutReader(iotest.OneByteReader(strings.NewReader("a draft")))); err == nil {
		t.Fatal("half a file was saved")
	}
	names, err := s.Names(1)
	if err != nil || len(names) != 0 {
		t.Errorf("%q, %v", names, err)
	}
	entries, err := os.ReadDir(s.JobDir(1))
	if err != nil || len(entries) != 0 {
		t.Errorf("left are %v, %v", entries, err)
	}
	for _, bad := range []string{"", "..", "../x", "a/b", `a\b`, ".hidden"} {
		if _, err := s.Save(1, bad, strings.NewReader("")); err == nil {
			t.Errorf("%q was saved", bad)
		}
	}
}

func TestFullDiskSaysSo(t *testing.T) {
	faulty := faultfs.Fail(store.Disk{})
	s, err := store.Open(filepath.Join(t.TempDir(), "store"), faulty)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	faulty.DiskFullAfter(3)
	if _, err := s.Save(1, "original.svg", strings.NewReader("a draft")); !errors.Is(err, store.ErrFull) {
		t.Errorf("%v", err)
	}
	faulty.Clear()
	sum, err := s.Save(1, "original.svg", strings.NewReader("a draft"))
	if err != nil {
		t.Fatal(err)
	}
	// By sha256sum of GNU coreutils: printf 'a draft' | sha256sum
	if sum.Size != 7 || sum.SHA256 != "765306e6ff5fa27c46a2fa650e20e35c2efd3eeda7cb2824026f704f40e5606b" {
		t.Errorf("%+v", sum)
	}
	if again, err := s.Sum(1, "original.svg"); err != nil || again != sum {
		t.Errorf("%+v and %+v, %v", sum, again, err)
	}
}

func TestOneDaemonOnly(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "store")
	a, err := store.Open(dir, store.Disk{})
	if err != nil {
		t.Fatal(err)
	}
	_, err = store.Open(dir, store.Disk{})
	if !errors.Is(err, store.ErrInUse) || !strings.Contains(err.Error(), fmt.Sprintf("process %d", os.Getpid())) {
		t.Errorf("%v", err)
	}
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	b, err := store.Open(dir, store.Disk{})
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(b.Close(), b.Close()); err != nil {
		t.Error(err)
	}
}

func TestProgramComesBack(t *testing.T) {
	s := onDisk(t)
	p := devices.Program{Language: devices.HPGL2, Prelude: 1, Abort: []byte("PU;"), Strokes: 2, Pieces: 1, DrawnMM: 12.5, Notes: []string{"a note"},
		Blocks: []devices.Block{{Bytes: []byte("\x1b%-1BIN;"), Stroke: -1, Piece: -1}, {Bytes: []byte{}, Stroke: 0, EndsStroke: true, DrawnMM: 12.5},
			{Bytes: []byte("PE\xff;"), Stroke: 1, Down: true, WaitForPerson: "a fresh sheet", Setup: []byte("SP2;")}}}
	files, err := store.ProgramFiles(p)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.SaveAll(5, files); err != nil {
		t.Fatal(err)
	}
	load := func() (devices.Program, error) {
		index, err := s.Read(5, store.ProgramIndex)
		if err != nil {
			t.Fatal(err)
		}
		data, err := s.Read(5, store.ProgramBytes)
		if err != nil {
			t.Fatal(err)
		}
		return store.JoinProgram(index, data)
	}
	got, err := load()
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(p, got); diff != "" {
		t.Error(diff)
	}
	if raw, err := s.Read(5, store.ProgramBytes); err != nil || !bytes.Equal(raw, p.Bytes()) {
		t.Errorf("%q, %v", raw, err)
	}
	for _, data := range [][]byte{nil, []byte("PE"), append(p.Bytes(), 'x')} {
		if _, err := s.Save(5, store.ProgramBytes, bytes.NewReader(data)); err != nil {
			t.Fatal(err)
		}
		if _, err := load(); err == nil {
			t.Errorf("%q is taken for the program", data)
		}
	}
}

func TestFoldersOfJobs(t *testing.T) {
	s := onDisk(t)
	for _, name := range []string{"3", "12", "007", "x", "-1"} {
		if err := os.Mkdir(filepath.Join(s.Dir(), "jobs", name), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	jobs, other, err := s.Jobs()
	if err != nil || !slices.Equal(jobs, []int64{12, 3}) || !slices.Equal(other, []string{"-1", "007", "x"}) {
		t.Errorf("%v, %q, %v", jobs, other, err)
	}
	if _, err := s.Save(3, "original", io.LimitReader(strings.NewReader("kept"), 9)); err != nil {
		t.Fatal(err)
	}
	to, err := s.SetAside(3)
	if err != nil {
		t.Fatal(err)
	}
	if got, err := os.ReadFile(filepath.Join(to, "original")); err != nil || string(got) != "kept" {
		t.Errorf("%q, %v", got, err)
	}
	if err := errors.Join(s.Drop(12), s.Drop(99)); err != nil {
		t.Error(err)
	}
	if jobs, _, _ = s.Jobs(); len(jobs) != 0 {
		t.Errorf("left are %v", jobs)
	}
}

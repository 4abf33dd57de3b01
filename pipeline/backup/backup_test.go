package backup

import (
	"archive/tar"
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"tracewheel/devices/needs"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
	"tracewheel/pipeline/store/faultfs"
)

// workroom writes one with a job that is done, one held, one stopped in its middle and one not yet made.
func workroom(t *testing.T) Room {
	t.Helper()
	dir := t.TempDir()
	r := Room{File: filepath.Join(dir, "workroom.yaml"), Store: filepath.Join(dir, "store"), Cards: filepath.Join(dir, "cards")}
	put := func(file, text string) {
		if err := errors.Join(os.MkdirAll(filepath.Dir(file), 0o755), os.WriteFile(file, []byte(text), 0o644)); err != nil {
			t.Fatal(err)
		}
	}
	put(r.File, "folders: {}\n")
	put(filepath.Join(r.Cards, "usher.yaml"), "chest: 96\n")
	put(filepath.Join(r.Store, "squares", "1.json"), "{}")
	st, err := store.Open(r.Store, store.Disk{})
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close() //nolint:errcheck // a test
	led, err := ledger.Open(t.Context(), st.LedgerPath(), nil)
	if err != nil {
		t.Fatal(err)
	}
	defer led.Close() //nolint:errcheck // a test
	for id := int64(1); id <= 4; id++ {
		files, err := st.SaveAll(id, []store.Named{{Name: "original.svg", Data: fmt.Appendf(nil, "draft %d", id)}, {Name: "report.html", Data: []byte("well")}})
		if err != nil {
			t.Fatal(err)
		}
		file := func(i int) ledger.File {
			return ledger.File{Job: id, Name: files[i].Name, Size: files[i].Size, SHA256: files[i].SHA256}
		}
		if _, err := led.Enter(t.Context(), ledger.Arrival{ID: led.Reserve(), Device: "roll-plotter", File: "cape.svg", Files: []ledger.File{file(0)}}); err != nil {
			t.Fatal(err)
		}
		change := func(to ledger.State, s *ledger.Send) {
			_, err := led.Change(t.Context(), id, func(j *ledger.Job) (ledger.Step, error) {
				j.State, j.Ready = to, id != 4
				step := ledger.Step{Kind: "change", Send: s}
				if id != 4 {
					step.Files = []ledger.File{file(1)}
				}
				return step, nil
			})
			if err != nil {
				t.Fatal(err)
			}
		}
		switch id {
		case 1:
			change(ledger.Canceled, nil)
		case 2:
			change(ledger.Held, nil)
		case 3:
			run := ledger.Send{No: 1, Began: time.Now(), Blocks: 9, Total: 900, Sure: -1, Stroke: -1}
			change(ledger.Processing, &run)
			run.Sure, run.Stroke, run.Bytes, run.End = 4, 3, 400, "stopped"
			change(ledger.Stopped, &run)
		}
	}
	return r
}

func taken(t *testing.T, r Room) (file string, c Copied) {
	t.Helper()
	file = filepath.Join(t.TempDir(), "monday.tar")
	c, err := Take(t.Context(), r, file, time.Date(2026, 3, 2, 18, 4, 5, 0, time.UTC))
	if err != nil {
		t.Fatal(err)
	}
	return file, c
}

// TestTakeAndRestore: what is brought back is what was, for its owner alone, and what had not ended waits
// for a person.
func TestTakeAndRestore(t *testing.T) {
	room := workroom(t)
	file, c := taken(t, room)
	if c.Jobs != 4 || len(c.Faults)+len(c.Left) > 0 {
		t.Errorf("%+v", c)
	}
	if _, err := Take(t.Context(), room, file, time.Now()); !errors.Is(err, fs.ErrExist) {
		t.Errorf("over one that is there: %v", err)
	}
	beside, err := os.ReadDir(filepath.Dir(file))
	if err != nil || len(beside) != 1 {
		t.Errorf("beside the copy lies %v, %v", beside, err)
	}
	dir := filepath.Join(t.TempDir(), "new", "room")
	r, err := Restore(t.Context(), file, dir, io.Discard)
	if err != nil {
		t.Fatal(err)
	}
	if r.Jobs != 4 || !slices.Equal(r.Stopped, []int64{2, 3, 4}) || r.Store != filepath.Join(dir, "store") {
		t.Errorf("%+v", r)
	}
	for _, name := range []string{"workroom.yaml", "cards/usher.yaml", "store/squares/1.json", "store/jobs/2/report.html"} {
		was, err1 := os.ReadFile(filepath.Join(filepath.Dir(room.File), name))
		is, err2 := os.ReadFile(filepath.Join(dir, name))
		if err := errors.Join(err1, err2); err != nil || !bytes.Equal(was, is) {
			t.Errorf("%s is %q instead of %q, %v", name, is, was, err)
		}
	}
	for _, top := range []string{file, filepath.Dir(dir)} {
		err = filepath.WalkDir(top, func(path string, _ fs.DirEntry, err error) error {
			info, serr := os.Lstat(path)
			if serr == nil && info.Mode() != store.PrivateFile && info.Mode() != store.Private|fs.ModeDir {
				t.Errorf("%s is %s", path, info.Mode())
			}
			return errors.Join(err, serr)
		})
		if err != nil {
			t.Error(err)
		}
	}
	led, err := ledger.Look(t.Context(), store.LedgerPath(r.Store))
	if err != nil {
		t.Fatal(err)
	}
	defer led.Close() //nolint:errcheck // only read
	reason := "restored from the copy of " + r.Taken.Local().Format("2006-01-02 15:04") + ", what was sent since is unknown"
	for id := int64(1); id <= 4; id++ {
		j, err := led.Job(t.Context(), id)
		if err != nil {
			t.Fatal(err)
		}
		if want := map[bool]ledger.State{true: ledger.Canceled, false: ledger.Stopped}[id == 1]; j.State != want {
			t.Errorf("job %d is %s", id, j.State)
		}
		if id > 1 && (j.Reason != reason || j.Send.End != "cut short" || j.Send.Tool != ledger.Unknown || j.Send.Ended.IsZero()) {
			t.Errorf("job %d: %q, %+v", id, j.Reason, j.Send)
		}
		if id == 3 && (j.Sends != 1 || j.Send.Sure != 4 || j.Send.Stroke != 3 || j.Send.Bytes != 400) {
			t.Errorf("what surely was drawn of it is forgotten: %+v", j.Send)
		}
	}
}

// TestTakeLeavesOut: links, pipes and hidden files are no part of a copy, and a job's file that is not
// what was saved is told.
func TestTakeLeavesOut(t *testing.T) {
	room := workroom(t)
	for _, err := range []error{
		os.Symlink("/etc/hostname", filepath.Join(room.Cards, "link.yaml")),
		os.WriteFile(filepath.Join(room.Cards, ".usher.yaml.swp"), nil, 0o600),
		os.WriteFile(filepath.Join(room.Store, "jobs", "2", "report.html"), []byte("ill"), 0o600),
		os.Remove(filepath.Join(room.Store, "jobs", "3", "original.svg")),
		os.Symlink("/etc/hostname", filepath.Join(room.Store, "jobs", "3", "original.svg")),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	_, err := Take(t.Context(), room, filepath.Join(t.TempDir(), "a.tar"), time.Now())
	if err == nil || !strings.Contains(err.Error(), "no plain file") {
		t.Errorf("a link in the place of a draft: %v", err)
	}
	if err := os.Remove(filepath.Join(room.Store, "jobs", "3", "original.svg")); err != nil {
		t.Fatal(err)
	}
	file, c := taken(t, room)
	if len(c.Left) != 1 || filepath.Base(c.Left[0]) != "link.yaml" {
		t.Errorf("left out: %v", c.Left)
	}
	want := []string{`the file "report.html" of job 2 is not what was saved`, `the file "original.svg" of job 3 is missing`}
	if !slices.Equal(c.Faults, want) {
		t.Errorf("told: %v", c.Faults)
	}
	for _, m := range membersOf(t, file) {
		if strings.Contains(m.h.Name, "link") || strings.Contains(m.h.Name, ".usher") {
			t.Errorf("it holds %s", m.h.Name)
		}
	}
}

// TestVanishedFile: a file that a person takes away while its folder is copied takes no other with it.
func TestVanishedFile(t *testing.T) {
	dir := t.TempDir()
	for i := range 40 {
		if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("%02d.yaml", i)), []byte("x"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	w := &writer{ctx: t.Context(), tar: tar.NewWriter(&taker{dir: dir})}
	if err := w.tree(cardsName, dir); err != nil {
		t.Fatal(err)
	}
	names := w.man.names()
	if _, in := names["cards/20.yaml"]; in || len(names) != 39 {
		t.Errorf("%d files, the one that vanished among them: %v", len(names), in)
	}
}

// taker removes a file of the folder with the first byte that is copied of it.
type taker struct{ dir string }

func (k *taker) Write(b []byte) (int, error) {
	return len(b), os.RemoveAll(filepath.Join(k.dir, "20.yaml"))
}

// TestTakeOutside: a copy is not written where the program takes what lies there for its own or for a draft, by whatever
// path or link the place is named; a folder whose name only begins so is another.
func TestTakeOutside(t *testing.T) {
	r := workroom(t)
	dir := filepath.Dir(r.File)
	r.Inbox = filepath.Join(dir, "inbox")
	for _, d := range []string{"inbox/roll-plotter", "stored", "elsewhere"} {
		if err := os.MkdirAll(filepath.Join(dir, d), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	needs.Link(t, filepath.Join(r.Inbox, "roll-plotter"), filepath.Join(dir, "link"))
	before := listed(t, dir)
	for _, to := range []string{"store/a.tar", "store/squares/a.tar", "store/../store/a.tar", "inbox/a.tar", "inbox/roll-plotter/a.tar", "link/a.tar", "cards/a.tar"} {
		if _, err := Take(t.Context(), r, dir+"/"+to, time.Now()); err == nil || !strings.Contains(err.Error(), "would lie in") {
			t.Errorf("%s: %v", to, err)
		}
	}
	if after := listed(t, dir); !slices.Equal(before, after) {
		t.Errorf("refused, and it left %q of %q", after, before)
	}
	for _, to := range []string{"stored/a.tar", "elsewhere/a.tar", "a.tar"} {
		if _, err := Take(t.Context(), r, filepath.Join(dir, to), time.Now()); err != nil {
			t.Errorf("%s: %v", to, err)
		}
	}
}

// TestMade: what a crash left of a line in the list of copies takes no other line with it and is counted, as is what no
// copy could have written; a line is durable, with the list's name, before the copy is called listed.
func TestMade(t *testing.T) {
	dir := t.TempDir()
	at := time.Date(2026, 11, 29, 20, 0, 0, 0, time.UTC)
	first, second := filepath.Join(dir, "first.tar"), filepath.Join(dir, "second\x1b[2J.tar")
	disk := faultfs.Record(store.Disk{})
	if err := note(disk, dir, Noted{first, at}); err != nil {
		t.Fatal(err)
	}
	if want := []string{"write backups.jsonl", "sync backups.jsonl", "syncdir " + filepath.Base(dir)}; !slices.Equal(disk.Ops()[max(0, len(disk.Ops())-3):], want) {
		t.Errorf("it does %q, want at the end %q", disk.Ops(), want)
	}
	list := filepath.Join(dir, madeFile)
	text, err := os.ReadFile(list)
	if err != nil {
		t.Fatal(err)
	}
	for cut := range len(text) {
		if err := os.WriteFile(list, append(slices.Clone(text), text[:cut]...), 0o600); err != nil {
			t.Fatal(err)
		}
		if err := note(disk, dir, Noted{second, at}); err != nil {
			t.Fatal(err)
		}
		want, torn := []Noted{{first, at}, {second, at}}, min(cut, 1)
		if cut == len(text)-1 { // all but the line's end: it is whole
			want, torn = []Noted{{first, at}, {first, at}, {second, at}}, 0
		}
		if all, unread, err := Made(dir); err != nil || !slices.Equal(all, want) || unread != torn {
			t.Fatalf("cut after %d bytes: %v, %d lines not read, %v", cut, all, unread, err)
		}
	}
	if err := os.WriteFile(list, []byte("\n{}\n[]\nnonsense\n"+`{"file":"a.tar","at":"2026-11-29T20:00:00Z"}`+"\n"+`{"file":"/a.tar"}`+"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if all, unread, err := Made(dir); err != nil || len(all) != 0 || unread != 5 {
		t.Errorf("of what is no entry: %v, %d, %v", all, unread, err)
	}
}

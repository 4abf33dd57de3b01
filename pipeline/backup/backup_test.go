package backup

import (
	"archive/tar"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
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

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
	"tracewheel/pipeline/verify"
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
	r, err := Restore(t.Context(), file, dir)
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

// TestRestoreAnEmptyFolderOnly: where anything lies, or a daemon holds the store, nothing is written.
func TestRestoreAnEmptyFolderOnly(t *testing.T) {
	room := workroom(t)
	file, _ := taken(t, room)
	before := listed(t, filepath.Dir(room.File))
	if _, err := Restore(t.Context(), file, filepath.Dir(room.File)); err == nil || !strings.Contains(err.Error(), "is not empty") {
		t.Errorf("over a workroom: %v", err)
	}
	st, err := store.Open(room.Store, store.Disk{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Restore(t.Context(), file, filepath.Dir(room.File)); !errors.Is(err, store.ErrInUse) {
		t.Errorf("beside a daemon: %v", err)
	}
	if err := st.Close(); err != nil {
		t.Fatal(err)
	}
	if after := listed(t, filepath.Dir(room.File)); !slices.Equal(before, after) {
		t.Errorf("%v became %v", before, after)
	}
	hidden := t.TempDir()
	if err := os.WriteFile(filepath.Join(hidden, ".x"), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Restore(t.Context(), file, hidden); err == nil {
		t.Error("beside a hidden file")
	}
	empty := t.TempDir()
	if _, err := Restore(t.Context(), file, empty); err != nil {
		t.Errorf("into an empty folder: %v", err)
	}
}

func listed(t *testing.T, dir string) (names []string) {
	t.Helper()
	err := filepath.WalkDir(dir, func(path string, _ fs.DirEntry, err error) error {
		names = append(names, path)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return names
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

type member struct {
	h    tar.Header
	data []byte
}

func membersOf(t *testing.T, file string) (all []member) {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close() //nolint:errcheck // only read
	for r := tar.NewReader(f); ; {
		h, err := r.Next()
		if err == io.EOF {
			return all
		}
		data, derr := io.ReadAll(r)
		if err := errors.Join(err, derr); err != nil {
			t.Fatal(err)
		}
		all = append(all, member{*h, data})
	}
}

// sealed writes an archive with a manifest that fits: as one would who means harm.
func sealed(t *testing.T, storeName string, members []member) string {
	t.Helper()
	man := manifest{Format: format, Taken: time.Now(), Store: storeName}
	var files []member
	for _, m := range members {
		if m.h.Name == manifestName || m.h.Name == sumName {
			continue
		}
		files = append(files, m)
		sum := sha256.Sum256(m.data)
		man.Files = append(man.Files, entry{Name: m.h.Name, Size: int64(len(m.data)), SHA256: hex.EncodeToString(sum[:])})
	}
	text, err := json.Marshal(man)
	if err != nil {
		t.Fatal(err)
	}
	sum := sha256.Sum256(text)
	plain := func(name string, data []byte) member {
		return member{tar.Header{Typeflag: tar.TypeReg, Name: name, Mode: 0o600, Size: int64(len(data))}, data}
	}
	return written(t, append(files, plain(manifestName, text), plain(sumName, []byte(hex.EncodeToString(sum[:])))))
}

func written(t *testing.T, members []member) string {
	t.Helper()
	var b bytes.Buffer
	w := tar.NewWriter(&b)
	for _, m := range members {
		if m.h.Typeflag == tar.TypeReg {
			m.h.Size = int64(len(m.data))
		}
		m.h.Format = tar.FormatUnknown
		if err := w.WriteHeader(&m.h); err != nil {
			t.Fatal(err)
		}
		if _, err := w.Write(m.data); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "hostile.tar")
	if err := os.WriteFile(file, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	return file
}

// TestHostileArchives: what leads elsewhere, is no plain file, or is not what was copied is refused before
// anything is written.
func TestHostileArchives(t *testing.T) {
	good, _ := taken(t, workroom(t))
	with := func(more ...member) func([]member) []member {
		return func(all []member) []member { return append(slices.Clone(all), more...) }
	}
	named := func(name string) func([]member) []member {
		return with(member{tar.Header{Typeflag: tar.TypeReg, Name: name, Mode: 0o600}, []byte("x")})
	}
	special := func(kind byte, link string) func([]member) []member {
		return with(member{h: tar.Header{Typeflag: kind, Name: "cards/x", Linkname: link, Mode: 0o777}})
	}
	on := func(name string, do func(*member)) func([]member) []member {
		return func(all []member) []member {
			all = slices.Clone(all)
			i := slices.IndexFunc(all, func(m member) bool { return m.h.Name == name })
			all[i].data = bytes.Clone(all[i].data)
			do(&all[i])
			return all
		}
	}
	without := func(name string) func([]member) []member {
		return func(all []member) []member {
			return slices.DeleteFunc(slices.Clone(all), func(m member) bool { return m.h.Name == name })
		}
	}
	flip := func(m *member) { m.data[len(m.data)/2] ^= 1 }
	cases := []struct {
		what, want string
		change     func([]member) []member
		seal       bool // its manifest fits all the same
	}{
		{"an absolute path", "no name of a file", named("/tmp/tracewheel-evil"), true},
		{"a path that climbs", "no name of a file", named("../evil"), true},
		{"a path that climbs inside", "no name of a file", named("cards/../../evil"), true},
		{"a path that goes round", "no name of a file", named("cards/./x"), true},
		{"a backslash", "no name of a file", named(`cards\..\..\evil`), true},
		{"a file beside", "no name of a file", named("evil.sh"), true},
		{"a hidden file", "no name of a file", named("store/jobs/1/.part-begun"), true},
		{"a card's name with an escape", "no name of a file", named("cards/a\x1b[31m.yaml"), true},
		{"a card's name with a line end", "no name of a file", named("cards/a\nb.yaml"), true},
		{"a lock", "no name of a file", named("store/lock"), true},
		{"the ledger's journal", "no name of a file", named("store/ledger.db-wal"), true},
		{"a socket's folder", "no name of a file", named("store/control/socket"), true},
		{"a name twice", "twice", named("cards/usher.yaml"), true},
		{"a symbolic link", "no plain file", special(tar.TypeSymlink, "/etc"), false},
		{"a hard link", "no plain file", special(tar.TypeLink, "workroom.yaml"), false},
		{"a folder", "no plain file", special(tar.TypeDir, ""), false},
		{"a pipe", "no plain file", special(tar.TypeFifo, ""), false},
		{"a device", "no plain file", special(tar.TypeChar, ""), false},
		{"a changed draft", `"store/jobs/2/original.svg" is not what was copied`, on("store/jobs/2/original.svg", flip), false},
		{"a changed ledger", `"store/ledger.db" is not what was copied`, on("store/ledger.db", flip), false},
		{"a changed workroom file", `"workroom.yaml" is not what was copied`, on("workroom.yaml", flip), false},
		{"a changed manifest", "manifest is damaged", on(manifestName, flip), false},
		{"a changed sum", "manifest is damaged", on(sumName, func(m *member) { m.data[0] ^= 1 }), false},
		{"a longer draft", "not what was copied", on("store/jobs/2/original.svg", func(m *member) { m.data = append(m.data, 'x') }), false},
		{"a missing draft", `"store/jobs/2/original.svg" is missing`, without("store/jobs/2/original.svg"), false},
		{"no manifest", "no manifest", without(manifestName), false},
		{"no sum of the manifest", "no manifest", without(sumName), false},
		{"a file too many", "does not name", named("cards/more.yaml"), false},
		{"no workroom file", "no workroom file", without(roomName), true},
	}
	for _, c := range cases {
		all := c.change(membersOf(t, good))
		file := ""
		if c.seal {
			file = sealed(t, "store", all)
		} else {
			file = written(t, all)
		}
		refused(t, c.what, file, c.want)
	}
	for _, elsewhere := range []string{"../store", "/tmp/store", ".", "a/../../b", ""} {
		refused(t, "the store "+elsewhere, sealed(t, elsewhere, membersOf(t, good)), "lies elsewhere")
	}
	whole, err := os.ReadFile(good)
	if err != nil {
		t.Fatal(err)
	}
	cut := filepath.Join(t.TempDir(), "cut.tar")
	for _, n := range []int{0, 1, 511, 512, 700, len(whole) / 2, len(whole) - 3*512} {
		if err := os.WriteFile(cut, whole[:n], 0o600); err != nil {
			t.Fatal(err)
		}
		refused(t, fmt.Sprintf("cut off after %d bytes", n), cut, "nothing was written")
	}
	// A sparse file of the POSIX.1-2001 kind holds a map and says how large it is:
	// https://www.gnu.org/software/tar/manual/html_node/PAX-1.html
	refused(t, "a sparse file of a terabyte", sparse(t), "larger than the archive")
}

// sparse is an archive with one file of 2^40 zeros. The standard library writes none, so its extended
// header is written here by hand.
func sparse(t *testing.T) string {
	t.Helper()
	var records bytes.Buffer
	for _, r := range [][2]string{{"GNU.sparse.major", "1"}, {"GNU.sparse.minor", "0"}, {"GNU.sparse.name", "cards/x"}, {"GNU.sparse.realsize", "1099511627776"}} {
		n := len(r[0]) + len(r[1]) + 3
		for len(fmt.Sprint(n))+len(r[0])+len(r[1])+3 != n {
			n = len(fmt.Sprint(n)) + len(r[0]) + len(r[1]) + 3
		}
		fmt.Fprintf(&records, "%d %s=%s\n", n, r[0], r[1])
	}
	header := func(name string, kind byte, size int) []byte {
		h := make([]byte, 512)
		copy(h, name)
		copy(h[100:], "0000600\x000000000\x000000000\x00")
		copy(h[124:], fmt.Sprintf("%011o\x0000000000000\x00", size))
		copy(h[148:], "        ")
		h[156] = kind
		copy(h[257:], "ustar\x0000")
		sum := 0
		for _, b := range h {
			sum += int(b)
		}
		copy(h[148:], fmt.Sprintf("%06o\x00 ", sum))
		return h
	}
	pad := func(b []byte) []byte { return append(b, make([]byte, (512-len(b)%512)%512)...) }
	all := header("x", 'x', records.Len())
	all = append(all, pad(records.Bytes())...)
	all = append(all, header("cards/x", '0', 512)...)
	all = append(all, pad([]byte("1\n1099511627776\n0\n"))...)
	all = append(all, make([]byte, 1024)...)
	file := filepath.Join(t.TempDir(), "sparse.tar")
	if err := os.WriteFile(file, all, 0o600); err != nil {
		t.Fatal(err)
	}
	return file
}

func refused(t *testing.T, what, file, want string) {
	t.Helper()
	above := t.TempDir()
	_, err := Restore(context.Background(), file, filepath.Join(above, "room"))
	if err == nil || !strings.Contains(err.Error(), want) {
		t.Errorf("%s: %v, want %q", what, err, want)
	}
	if left := listed(t, above); len(left) > 1 {
		t.Errorf("%s: it wrote %v", what, left)
	}
}

// TestHalfStripped: of an old job whose program is just being removed some of it may be gone; that is no
// fault of the copy, which has what stays.
func TestHalfStripped(t *testing.T) {
	room := workroom(t)
	st := store.Look(room.Store)
	var files []ledger.File
	for _, name := range []string{store.ProgramBytes, store.ProgramIndex, "picture-lay.svg"} {
		sums, err := st.SaveAll(1, []store.Named{{Name: name, Data: []byte(name)}})
		if err != nil {
			t.Fatal(err)
		}
		files = append(files, ledger.File{Job: 1, Name: name, Size: sums[0].Size, SHA256: sums[0].SHA256})
	}
	led, err := ledger.Open(t.Context(), st.LedgerPath(), nil)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := led.Change(t.Context(), 1, func(j *ledger.Job) (ledger.Step, error) {
		j.Stripped = ledger.Stripping
		return ledger.Step{Kind: "change", Files: files}, nil
	}); err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(led.Close(), st.RemoveFiles(1, []string{store.ProgramBytes})); err != nil {
		t.Fatal(err)
	}
	file, c := taken(t, room)
	if len(c.Faults) > 0 {
		t.Errorf("told as faults: %v", c.Faults)
	}
	r, err := Restore(t.Context(), file, filepath.Join(t.TempDir(), "back"))
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range verify.Verify(r.Store) {
		if p.Job == 1 { // the others have no program here
			t.Error("verify:", p)
		}
	}
	if names, err := store.Look(r.Store).Names(1); err != nil || !slices.Contains(names, "picture-lay.svg") || slices.Contains(names, store.ProgramIndex) {
		t.Errorf("%v, %v", names, err)
	}
}

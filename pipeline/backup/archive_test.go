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
		{"a card's name with a mark that turns the writing", "no name of a file", named("cards/a\u202eb.yaml"), true},
		{"a folder that is a file as well", `"cards/usher.yaml" is in it as a file and as a folder`, named("cards/usher.yaml/b.yaml"), true},
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
	_, err := Restore(context.Background(), file, filepath.Join(above, "room"), io.Discard)
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
	r, err := Restore(t.Context(), file, filepath.Join(t.TempDir(), "back"), io.Discard)
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

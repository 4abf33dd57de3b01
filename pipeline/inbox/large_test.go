//go:build unix

package inbox

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/store"
)

// TestTooLarge: a file larger than a draft, or with a ticket larger than one, is neither claimed for good nor
// copied; it stays where it is, and the list says why. One of the largest size is taken.
func TestTooLarge(t *testing.T) {
	for _, c := range []struct {
		draft, ticket int64
		taken         bool
	}{{LargestFile + 1, 0, false}, {1000, largestTicket + 1, false}, {1000, largestTicket, true}} {
		root, b := t.TempDir(), newBook()
		inbox := filepath.Join(root, "inbox")
		dir := filepath.Join(inbox, "roll-plotter")
		sparse := func(name string, size int64) {
			if err := os.WriteFile(filepath.Join(dir, name), nil, 0o600); err != nil {
				t.Fatal(err)
			}
			if err := os.Truncate(filepath.Join(dir, name), size); err != nil {
				t.Fatal(err)
			}
		}
		if err := store.MakeDirs(store.Disk{}, filepath.Join(root, "store", "jobs"), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.MkdirAll(dir, 0o755); err != nil {
			t.Fatal(err)
		}
		sparse("skirt.svg", c.draft)
		if c.ticket > 0 {
			sparse("skirt.ticket.yaml", c.ticket)
		}
		info, err := os.Lstat(filepath.Join(dir, "skirt.svg"))
		if err != nil {
			t.Fatal(err)
		}
		taker := &Taker{FS: store.Disk{}, Store: store.In(filepath.Join(root, "store"), store.Disk{}), Book: b, Root: inbox}
		list := Look(store.Disk{}, inbox, []string{"roll-plotter"}, "")
		_, err = takeOne(t.Context(), taker, Take{Device: "roll-plotter", Entry: entryOf(info)})
		if (err == nil) != c.taken || len(b.entered) == 1 != c.taken {
			t.Errorf("%v: %v, entered %v", c, err, b.entered)
		}
		if c.taken {
			if len(list) > 0 {
				t.Errorf("%v: listed %v", c, list)
			}
			continue
		}
		if len(list) != 1 || !strings.Contains(list[0].Why, "MB, and at most") || !strings.Contains(err.Error(), list[0].Why) {
			t.Errorf("%v: listed %v, told %v", c, list, err)
		}
		left, _ := filepath.Glob(filepath.Join(dir, "*"))
		want := []string{filepath.Join(dir, "skirt.svg")}
		if c.ticket > 0 {
			want = append(want, filepath.Join(dir, "skirt.ticket.yaml"))
		}
		if !slices.Equal(left, want) {
			t.Errorf("%v: in the inbox lie %v", c, left)
		}
		if copied, _ := filepath.Glob(filepath.Join(root, "store", "jobs", "*", "original*")); c.draft > LargestFile && len(copied) > 0 {
			t.Errorf("%v: copied %v", c, copied)
		}
	}
}

// TestLargeTogether: drafts of one ticket that are too large together stay where they are, and the list says why.
func TestLargeTogether(t *testing.T) {
	for size, taken := range map[int64]bool{pattern.MostTogether / 2: false, pattern.MostTogether/4 - 1000: true} {
		root, b := t.TempDir(), newBook()
		at := filepath.Join(root, "inbox", "roll-plotter")
		for _, dir := range []string{at, filepath.Join(root, "store", "jobs"), filepath.Join(root, "drafts")} {
			if err := os.MkdirAll(dir, 0o755); err != nil {
				t.Fatal(err)
			}
		}
		for _, file := range []string{filepath.Join(at, "skirt.svg"), filepath.Join(at, "lining.svg"), filepath.Join(root, "drafts", "pocket.svg")} {
			if err := errors.Join(os.WriteFile(file, nil, 0o600), os.Truncate(file, size)); err != nil {
				t.Fatal(err)
			}
		}
		if err := os.WriteFile(filepath.Join(at, "skirt.ticket.yaml"), []byte("with: [lining.svg, pocket.svg]\n"), 0o600); err != nil {
			t.Fatal(err)
		}
		info, err := os.Lstat(filepath.Join(at, "skirt.svg"))
		if err != nil {
			t.Fatal(err)
		}
		taker := &Taker{FS: store.Disk{}, Store: store.In(filepath.Join(root, "store"), store.Disk{}), Book: b, Root: filepath.Join(root, "inbox"), Drafts: filepath.Join(root, "drafts")}
		list := Look(store.Disk{}, taker.Root, []string{"roll-plotter"}, taker.Drafts)
		_, err = takeOne(t.Context(), taker, Take{Device: "roll-plotter", Entry: entryOf(info)})
		if taken != (err == nil) || taken != (len(b.entered) == 1) {
			t.Errorf("%d bytes each: %v, entered %v", size, err, b.entered)
		}
		if taken {
			continue
		}
		if !errors.Is(err, ErrUnreadable) || !slices.ContainsFunc(list, func(u ledger.Untaken) bool {
			return u.File == "skirt.svg" && strings.Contains(u.Why, "names have 192 MB together, and at most 128 are read for one job")
		}) {
			t.Errorf("told %v, listed %v", err, list)
		}
		if left, _ := filepath.Glob(filepath.Join(at, "*")); len(left) != 3 {
			t.Errorf("in the inbox lie %v", left)
		}
	}
}

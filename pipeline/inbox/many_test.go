package inbox

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"tracewheel/pipeline/store"
	"tracewheel/pipeline/store/faultfs"
)

// wardrobe are files that are taken together; those with a card have it as their ticket.
var wardrobe = []struct {
	name, text string
	card       bool
}{{"skirt.svg", "the skirt", true}, {"cape.dxf", "the cape", false}, {"hood.svg", "the hood", true}}

func layWardrobe(t *testing.T, m *faultfs.Memory) {
	t.Helper()
	err := store.MakeDirs(m, "/store/jobs", 0o755)
	for _, w := range wardrobe {
		err = errors.Join(err, m.Put("/inbox/roll-plotter/"+w.name, w.text, true))
		if w.card {
			err = errors.Join(err, m.Put("/inbox/roll-plotter/"+stem(w.name)+".ticket.yaml", "note: "+w.text+"\n", true))
		}
	}
	if err != nil {
		t.Fatal(err)
	}
}

// takeWardrobe takes what of it lies in the inbox, all at once.
func takeWardrobe(fsys store.FS, b Book) error {
	var takes []Take
	for _, w := range wardrobe {
		info, err := fsys.Lstat("/inbox/roll-plotter/" + w.name)
		if errors.Is(err, os.ErrNotExist) {
			continue
		}
		if err != nil {
			return err
		}
		takes = append(takes, Take{Device: "roll-plotter", Entry: entryOf(info)})
	}
	var faults []error
	for _, taken := range takerOn(fsys, b).takeAll(context.Background(), takes) {
		faults = append(faults, taken.Err)
	}
	return errors.Join(faults...)
}

// TestOrderOfSyncsOfMany holds that each step is done for all files, and durable, before the next begins,
// and that no folder is synced twice for it.
func TestOrderOfSyncsOfMany(t *testing.T) {
	m := faultfs.NewMemory()
	layWardrobe(t, m)
	rec := faultfs.Record(m)
	b := newBook()
	b.note = rec.Note
	if err := takeWardrobe(rec, b); err != nil {
		t.Fatal(err)
	}
	ops := rec.Ops()
	step := func(op string) int {
		switch {
		case strings.HasPrefix(op, "rename") && strings.Contains(op, claimPrefix):
			return 1
		case op == "syncdir roll-plotter":
			return 2
		case op == "syncdir jobs":
			return 4
		case strings.HasPrefix(op, "enter"):
			return 5
		case strings.HasPrefix(op, "remove"):
			return 6
		}
		return 3
	}
	if !slices.IsSortedFunc(ops, func(a, b string) int { return step(a) - step(b) }) {
		t.Errorf("the steps were mixed:\n%s", strings.Join(ops, "\n"))
	}
	for op, want := range map[string]int{"syncdir roll-plotter": 1, "syncdir jobs": 1, "syncdir 1": 1, "syncdir 2": 1, "syncdir 3": 1} {
		if got := len(slices.DeleteFunc(slices.Clone(ops), func(o string) bool { return o != op })); got != want {
			t.Errorf("%q was done %d times", op, got)
		}
	}
}

// TestPowerCutAmongMany cuts the power before every operation of a taking of several files, and has a
// restart finish: each draft is one job in the end, with its own ticket, and is never lost meanwhile.
func TestPowerCutAmongMany(t *testing.T) {
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 3))
	m := faultfs.NewMemory()
	layWardrobe(t, m)
	steps := -m.Count()
	if err := takeWardrobe(m, newBook()); err != nil {
		t.Fatal(err)
	}
	if steps += m.Count(); steps < 30 {
		t.Fatalf("only %d steps", steps)
	}
	for step := 1; step <= steps; step++ {
		for luck := range 6 {
			m := faultfs.NewMemory()
			layWardrobe(t, m)
			m.StopAfter = m.Count() + step
			b := newBook()
			b.off = func() bool { return m.Count() >= m.StopAfter }
			if err := takeWardrobe(m, b); err == nil {
				t.Fatalf("step %d of %d was not cut", step, steps)
			}
			after := m.Crash(nil)
			if luck > 0 {
				after = m.Crash(rnd)
			}
			finishWardrobe(t, fmt.Sprintf("step %d of %d, luck %d", step, steps, luck), after, b)
		}
	}
}

func finishWardrobe(t *testing.T, where string, after *faultfs.Memory, b *book) {
	t.Helper()
	files := after.Files()
	for _, w := range wardrobe {
		found := false
		for path, text := range files {
			if text != w.text {
				continue
			}
			found = found || strings.HasPrefix(path, "/inbox/")
			for id := range b.entered {
				found = found || strings.HasPrefix(path, fmt.Sprintf("/store/jobs/%d/original.", id))
			}
		}
		if !found {
			t.Errorf("%s: %s is lost: %q", where, w.name, files)
		}
	}
	again := newBook()
	again.entered, again.next = b.entered, max(b.next, 4)
	_, err := takerOn(after, again).Finish(context.Background(), "roll-plotter")
	if err = errors.Join(err, takeWardrobe(after, again)); err != nil {
		t.Errorf("%s: %v", where, err)
	}
	files = after.Files()
	for path := range files {
		if strings.HasPrefix(path, "/inbox/") {
			t.Errorf("%s: left in the inbox: %s", where, path)
		}
	}
	if len(again.entered) != len(wardrobe) {
		t.Errorf("%s: %d jobs", where, len(again.entered))
	}
	for id, a := range again.entered {
		for _, w := range wardrobe {
			if a.File != w.name {
				continue
			}
			dir, ticket := fmt.Sprintf("/store/jobs/%d/", id), ""
			if w.card {
				ticket = "note: " + w.text + "\n"
			}
			if files[dir+originalName(w.name)] != w.text || files[dir+"ticket.yaml"] != ticket || (a.Ticket != "") != w.card {
				t.Errorf("%s: job %d of %s is %q, ticket %q (%q)", where, id, a.File, files[dir+originalName(w.name)], files[dir+"ticket.yaml"], a.Ticket)
			}
		}
	}
}

// TestOneOfMany: a file that cannot be taken hinders none of those that are taken with it.
func TestOneOfMany(t *testing.T) {
	m := faultfs.NewMemory()
	layWardrobe(t, m)
	b := newBook()
	var takes []Take
	for _, w := range wardrobe {
		info, err := m.Lstat("/inbox/roll-plotter/" + w.name)
		if err != nil {
			t.Fatal(err)
		}
		takes = append(takes, Take{Device: "roll-plotter", Entry: entryOf(info)})
	}
	takes[1].Entry.Size++ // it has changed since
	taken := takerOn(m, b).takeAll(t.Context(), takes)
	if taken[0].Err != nil || !errors.Is(taken[1].Err, ErrChanging) || taken[1].Job != 0 || taken[2].Err != nil || taken[2].Job != 2 {
		t.Errorf("taking three of which one changes gives %+v", taken)
	}
	if len(b.entered) != 2 || m.Files()["/inbox/roll-plotter/cape.dxf"] != "the cape" {
		t.Errorf("entered %v, files %q", b.entered, m.Files())
	}
}

// TestTogether: files that share a ticket are not taken together, else the first would take it with it.
func TestTogether(t *testing.T) {
	take := func(device, name string) Take { return Take{Device: device, Entry: Entry{Name: name}} }
	takes := []Take{take("a", "skirt.svg"), take("b", "skirt.svg"), take("a", "cape.svg"), take("a", "skirt.dxf"), take("a", "hood.svg")}
	if n := together(takes); n != 3 {
		t.Errorf("%d files are taken together", n)
	}
	if n := together(takes[3:]); n != 2 {
		t.Errorf("%d files are taken together", n)
	}
	var many []Take
	for i := range 3 * most {
		many = append(many, take("a", fmt.Sprintf("%d.svg", i)))
	}
	if n := together(many); n != most {
		t.Errorf("%d files are taken together", n)
	}
}

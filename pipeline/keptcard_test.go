package pipeline

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"tracewheel/config"
	"tracewheel/config/samples"
	"tracewheel/pipeline/backup"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/newroom"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/store"
	"tracewheel/pipeline/verify"
)

// TestCardIsKept: the measure card that a job was made with is kept with it, so that the garment is made
// again as it was although the card was changed or is gone; and it is compared as the draft is.
func TestCardIsKept(t *testing.T) {
	h := daemontest.New(t)
	root := filepath.Join(h.Dir, "wardrobe")
	if _, err := newroom.Write(root, making.Sample()); err != nil {
		t.Fatal(err)
	}
	room, err := config.Load(filepath.Join(root, "workroom.yaml"), pattern.RuleNames())
	if err != nil {
		t.Fatal(err)
	}
	h.Settings.Store = room.Path(room.Folders.Store)
	h.Options.Build = func(ctx context.Context, in job.Draft) (job.Made, error) {
		in.Job = 0 // whose number is drawn beside the pieces
		return making.New(room).Build(ctx, in)
	}
	h.Start()
	jobs, st := h.Daemon.Jobs(), store.Look(h.Settings.Store)
	made := func(device, name string) ledger.Job {
		h.DropWhole(device, strings.TrimSuffix(name, ".yaml")+".ticket.yaml", "body: chorus-4\n")
		h.DropWhole(device, name, string(samples.Read("ferry-smock.yaml")))
		var j ledger.Job
		h.Until(name+" is made", func() bool {
			list, err := jobs.Jobs(t.Context(), ledger.Filter{Device: device})
			for _, one := range list {
				if one.File == name {
					j = one
				}
			}
			return err == nil && j.Ready || j.State.Ended()
		})
		if j.State == ledger.Aborted {
			t.Fatal(j.Reason)
		}
		return j
	}
	program := func(id int64) []byte {
		data, err := st.Read(id, store.ProgramBytes)
		if err != nil {
			t.Fatal(err)
		}
		return data
	}
	first := made("roll-plotter", "smock.yaml")
	want := program(h.Becomes(first.ID, ledger.Completed).ID)
	kept := ledger.CardFile("chorus-4")
	card := filepath.Join(room.Path("cards"), "chorus-4.yaml")
	was, err := os.ReadFile(card)
	if err != nil {
		t.Fatal(err)
	}
	if got, err := st.Read(first.ID, kept); err != nil || !bytes.Equal(got, was) {
		t.Fatalf("the card is not kept with the job: %v", err)
	}

	bust := regexp.MustCompile(`(?m)^(\s*bust:).*$`)
	if err := os.WriteFile(card, bust.ReplaceAll(was, []byte("${1} 120")), 0o600); err != nil {
		t.Fatal(err)
	}
	second := made("roll-plotter", "later.yaml")
	if h.Becomes(second.ID, ledger.Completed); bytes.Equal(program(second.ID), want) {
		t.Fatal("the change of the card changes nothing, so that this test shows nothing")
	}
	again := func(id int64) int64 {
		t.Helper()
		n, _, err := jobs.AgainPieces(t.Context(), id, "", "")
		if err != nil {
			t.Fatal(err)
		}
		if h.Becomes(n, ledger.Completed); !bytes.Equal(program(n), want) {
			t.Errorf("job %d is another garment than job %d", n, id)
		}
		return n
	}
	third := again(first.ID)
	if err := os.Remove(card); err != nil {
		t.Fatal(err)
	}
	again(third)

	// A waiting job of which a person's copy of the card was changed in the store.
	if err := os.WriteFile(card, was, 0o600); err != nil {
		t.Fatal(err)
	}
	cut := made("knife-table", "cut.yaml")
	for _, id := range []int64{cut.ID, first.ID} {
		path := filepath.Join(st.JobDir(id), kept)
		if err := os.WriteFile(path, append([]byte("# \n"), was...), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if problems := verify.Verify(h.Settings.Store); len(problems) != 2 || !strings.Contains(problems[0].String(), kept) {
		t.Errorf("verify: %v", problems)
	}
	if _, _, err := jobs.AgainPieces(t.Context(), first.ID, "", ""); !errors.Is(err, control.ErrNotSaved) || !strings.Contains(err.Error(), kept) {
		t.Errorf("made again of a changed card: %v", err)
	}
	if err := jobs.Release(t.Context(), cut.ID, nil, control.BedClear); err != nil {
		t.Fatal(err)
	}
	if j := h.Becomes(cut.ID, ledger.Aborted); !strings.Contains(j.Reason, kept) || j.Sends != 0 {
		t.Errorf("%d sendings: %s", j.Sends, j.Reason)
	}
	for _, id := range []int64{cut.ID, first.ID} {
		if err := os.WriteFile(filepath.Join(st.JobDir(id), kept), was, 0o600); err != nil {
			t.Fatal(err)
		}
	}

	copied := filepath.Join(h.Dir, "monday.tar")
	if c, err := backup.Take(t.Context(), backup.Room{File: room.File, Store: h.Settings.Store, Cards: room.Path("cards")}, copied, time.Now()); err != nil || len(c.Faults) > 0 {
		t.Fatal(err, c.Faults)
	}
	r, err := backup.Restore(t.Context(), copied, filepath.Join(h.Dir, "restored"), io.Discard)
	if err != nil {
		t.Fatal(err)
	}
	if got, err := store.Look(r.Store).Read(first.ID, kept); err != nil || !bytes.Equal(got, was) {
		t.Errorf("the copy has no card: %v", err)
	}
	for _, p := range verify.Verify(r.Store) {
		t.Error("restored:", p)
	}
}

// TestBlockIsKept: a dropped draft takes from the workroom's folder drafts alone, and what it took is kept with its job,
// so that the garment is made again as it was although the block is gone.
func TestBlockIsKept(t *testing.T) {
	h := daemontest.New(t)
	root := filepath.Join(h.Dir, "wardrobe")
	if _, err := newroom.Write(root, making.Sample()); err != nil {
		t.Fatal(err)
	}
	room, err := config.Load(filepath.Join(root, "workroom.yaml"), pattern.RuleNames())
	if err != nil {
		t.Fatal(err)
	}
	h.Settings.Store = room.Path(room.Folders.Store)
	h.Options.Build = making.New(room).Build
	h.Start()
	jobs, st := h.Daemon.Jobs(), store.Look(h.Settings.Store)
	made := func(name, from string) ledger.Job {
		h.DropWhole("roll-plotter", name, "style: Shell\nunit: cm\nfrom: "+from+"\npieces:\n  back: back; cut 2, a pair\nallow: 1\n")
		var j ledger.Job
		h.Until(name+" has ended", func() bool {
			list, err := jobs.Jobs(t.Context(), ledger.Filter{Device: "roll-plotter"})
			for _, one := range list {
				if one.File == name {
					j = one
				}
			}
			return err == nil && j.State.Ended()
		})
		return j
	}
	first := made("shell.yaml", "bodice-block.yaml")
	if first.State != ledger.Completed {
		t.Fatal(first.Reason)
	}
	block := filepath.Join(room.Path("drafts"), "bodice-block.yaml")
	was, err := os.ReadFile(block)
	if err != nil {
		t.Fatal(err)
	}
	kept := ledger.BlockFile("bodice-block.yaml")
	if got, err := st.Read(first.ID, kept); err != nil || !bytes.Equal(got, was) {
		t.Fatalf("the block is not kept with the job: %v", err)
	}
	if err := os.Remove(block); err != nil {
		t.Fatal(err)
	}
	n, _, err := jobs.AgainPieces(t.Context(), first.ID, "", "")
	if err != nil {
		t.Fatal(err)
	}
	h.Becomes(n, ledger.Completed)
	h.DropWhole("roll-plotter", "basic.yaml", string(was)) // beside the next one for a moment, and its job's file then
	if j := made("other.yaml", "basic.yaml"); j.State != ledger.Aborted || !strings.Contains(j.Reason, "folder drafts") {
		t.Errorf("a draft took from what was dropped: %s, %s", j.State, j.Reason)
	}
	path := filepath.Join(st.JobDir(first.ID), kept)
	if err := os.WriteFile(path, append([]byte("# \n"), was...), 0o600); err != nil {
		t.Fatal(err)
	}
	if problems := verify.Verify(h.Settings.Store); len(problems) != 1 || !strings.Contains(problems[0].String(), kept) {
		t.Errorf("verify: %v", problems)
	}
	if _, _, err := jobs.AgainPieces(t.Context(), first.ID, "", ""); !errors.Is(err, control.ErrNotSaved) {
		t.Errorf("made again of a changed block: %v", err)
	}
	if err := os.WriteFile(path, was, 0o600); err != nil {
		t.Fatal(err)
	}
}

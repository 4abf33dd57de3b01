// Package forget removes a person's measures from a workroom: the measure card and all that was made for it. Of its
// jobs the number, the device, the state and the dates stay.
package forget

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"go.uber.org/zap"

	"tracewheel/config"
	"tracewheel/pipeline/backup"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/returned"
	"tracewheel/pipeline/store"
	"tracewheel/pipeline/trusted"
)

// Done is what was forgotten, and what a person has to see to.
type Done struct {
	Jobs []int64
	// Copies are those that this program made and may still hold it.
	Copies []backup.Noted
	// Drafts are files in the folder of drafts that name the card; no measures stand in them.
	Drafts []string
	// Ledgers are old ledgers that were set aside.
	Ledgers []string
}

// mark is what a forgetting that was begun is gone on with: it knows the jobs when nothing else does any more.
type mark struct {
	Card string  `json:"card"`
	Jobs []int64 `json:"jobs"`
	// Files are the names under which their drafts were dropped.
	Files []string `json:"files"`
}

// forgetting is one that goes on.
type forgetting struct {
	room *config.Workroom
	st   *store.Store
	led  *ledger.Ledger
	mark mark
	// reached is called before each step; an error ends it there, as a kill would. For tests.
	reached func(step string) error
}

// ErrUnended means that a job of the card goes on or waits.
var ErrUnended = errors.New("first cancel what has not ended, or let it end")

// Would tells which jobs Forget takes, and changes nothing.
func Would(ctx context.Context, room *config.Workroom, card string) (jobs []int64, err error) {
	err = within(ctx, room, card, func(f *forgetting, card string) error {
		err := f.look(ctx, card)
		jobs = f.mark.Jobs
		return err
	})
	return jobs, err
}

// Forget removes a card and all that was made for it. It takes the store for itself, so that no daemon may run: log and
// ledger are written anew. A mark in the store is durable before the first thing goes and is removed after the last;
// what a crash leaves in between is gone on with when it is called again.
func Forget(ctx context.Context, room *config.Workroom, card string) (Done, error) {
	return forget(ctx, room, card, func(string) error { return nil })
}

func forget(ctx context.Context, room *config.Workroom, card string, reached func(string) error) (done Done, err error) {
	err = within(ctx, room, card, func(f *forgetting, card string) error {
		f.reached = reached
		err := f.all(ctx, card)
		if err = errors.Join(err, f.led.Close()); err != nil {
			return err
		}
		done = Done{Jobs: f.mark.Jobs, Drafts: naming(room.Path("drafts"), card)}
		if done.Ledgers, err = filepath.Glob(filepath.Join(f.st.Dir(), "stray", "ledger-*")); err == nil {
			done.Copies, err = backup.Made(f.st.Dir())
		}
		if err == nil {
			err = f.unmark()
		}
		return err
	})
	return done, err
}

// within opens store and ledger for what is done with a card.
func within(ctx context.Context, room *config.Workroom, card string, do func(f *forgetting, card string) error) error {
	card = strings.TrimSuffix(strings.TrimSuffix(card, ".yaml"), ".yml")
	if !store.PlainName(card) {
		return fmt.Errorf("%q is not the name of a measure card: a bare name, as its file in the folder of cards has", card)
	}
	st, err := store.Open(room.Path(room.Folders.Store), store.Disk{})
	if errors.Is(err, store.ErrInUse) {
		return fmt.Errorf("%w; log and ledger are written anew", err)
	}
	if err != nil {
		return err
	}
	led, err := trusted.Open(ctx, trusted.Opening{Store: st, Log: zap.NewNop()})
	if err != nil {
		return errors.Join(err, st.Close())
	}
	err = do(&forgetting{room: room, st: st, led: led}, card)
	return errors.Join(err, led.Close(), st.Close())
}

// all goes through the steps. The ledger comes first, in one transaction: from then on nothing of the jobs is found
// again, and what still lies there is known by the mark.
func (f *forgetting) all(ctx context.Context, card string) error {
	if err := f.begin(ctx, card); err != nil {
		return err
	}
	for _, step := range []struct {
		name string
		do   func(context.Context) error
	}{
		{"ledger", func(ctx context.Context) error { return f.led.Erase(ctx, f.mark.Jobs) }},
		{"files of jobs", f.files},
		{"returned drafts", f.returned},
		{"sheets of printers", f.made},
		{"log", f.log},
		{"card", f.card},
		{"freed pages of the ledger", f.led.Scrub},
	} {
		err := f.reached(step.name)
		if err == nil {
			err = step.do(ctx)
		}
		if err != nil {
			return fmt.Errorf("forgetting %q stopped at the %s, so it is not done; say it again to go on: %w", f.mark.Card, step.name, err)
		}
	}
	return f.reached("end")
}

// begin marks what is to be forgotten, unless that was done before.
func (f *forgetting) begin(ctx context.Context, card string) error {
	if err := f.look(ctx, card); err != nil {
		return err
	}
	text, err := json.Marshal(f.mark)
	if err != nil {
		return err
	}
	_, err = store.SaveFile(store.Disk{}, store.ForgettingMark(f.st.Dir()), strings.NewReader(string(text)), store.PrivateFile)
	return err
}

// look finds what is to be forgotten, or reads it from the mark of a forgetting that was begun.
func (f *forgetting) look(ctx context.Context, card string) error {
	path := store.ForgettingMark(f.st.Dir())
	text, err := os.ReadFile(path)
	if err == nil {
		if err := json.Unmarshal(text, &f.mark); err != nil {
			return fmt.Errorf("reading %q: %w", path, err)
		}
		if f.mark.Card != card {
			return fmt.Errorf("forgetting %q was begun and has not ended; first say: tracewheel forget %s --for-good", f.mark.Card, f.mark.Card)
		}
		return nil
	}
	if !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	if in := naming(f.room.Path(f.room.Folders.Inbox), card); len(in) > 0 {
		return fmt.Errorf("%w: %s lies in the inbox and names the card", ErrUnended, in[0])
	}
	f.mark = mark{Card: card, Jobs: []int64{}, Files: []string{}}
	cards := cardFiles(f.room, card)
	if err := f.find(ctx, card, wearersOf(cards, card)); err != nil {
		return err
	}
	if len(cards) == 0 && len(f.mark.Jobs) == 0 {
		return fmt.Errorf("there is no measure card %q, and no job was made for it", card)
	}
	return nil
}

// find lists the jobs that were made for the card, and refuses where one of them has not ended.
func (f *forgetting) find(ctx context.Context, card string, wearers []string) error {
	var going []string
	for after := int64(0); ; {
		records, err := f.led.Records(ctx, after, 500)
		if err != nil {
			return err
		}
		if len(records) == 0 {
			break
		}
		for _, r := range records {
			after = r.Job.ID
			is, err := f.madeFor(r, card, wearers)
			switch {
			case err != nil:
				return fmt.Errorf("looking through job %d: %w", r.Job.ID, err)
			case !is:
			case !r.Job.State.Ended():
				going = append(going, fmt.Sprintf("job %d is %s", r.Job.ID, r.Job.State.Plain()))
			default:
				f.mark.Jobs, f.mark.Files = append(f.mark.Jobs, r.Job.ID), append(f.mark.Files, r.Job.File)
			}
		}
	}
	if len(going) > 0 {
		return fmt.Errorf("%w: %s", ErrUnended, strings.Join(going, ", "))
	}
	return nil
}

// madeFor tells whether a job was made for the card: it was kept with the job, a person answered with it, the job was
// made for its wearer, or draft or ticket name it.
func (f *forgetting) madeFor(r ledger.Record, card string, wearers []string) (bool, error) {
	j := r.Job
	if j.Stripped == ledger.Forgotten {
		return false, nil
	}
	if j.Answers["body"] == card || slices.ContainsFunc(wearers, func(w string) bool { return strings.EqualFold(w, j.Wearer) }) {
		return true, nil
	}
	for _, file := range r.Files {
		if name, is := file.Card(); is && name == card {
			return true, nil
		}
		if file.Name != j.Ticket && (file.Name != j.Original || !yamlName(file.Name)) || file.Size > textLimit {
			continue
		}
		text, err := f.st.Read(j.ID, file.Name)
		if errors.Is(err, fs.ErrNotExist) {
			continue // verify says so
		}
		if err != nil || names(text, card) {
			return err == nil, err
		}
	}
	return false, nil
}

func (f *forgetting) files(context.Context) error {
	for _, id := range f.mark.Jobs {
		if err := f.st.Drop(id); err != nil {
			return err
		}
	}
	stray := filepath.Join(f.st.Dir(), "stray")
	return removeIn(stray, func(name string) bool {
		number, _, _ := strings.Cut(name, "-")
		return slices.ContainsFunc(f.mark.Jobs, func(id int64) bool { return fmt.Sprint(id) == number })
	})
}

func (f *forgetting) returned(context.Context) error {
	if err := removeIn(f.room.Path(f.room.Folders.Returned), f.theirs); err != nil {
		return err
	}
	return f.st.UnseeReturned(f.theirs)
}

// made removes the sheets of the jobs, also where their writing was cut short.
func (f *forgetting) made(context.Context) error {
	return removeIn(f.room.Path(f.room.Folders.Made), f.theirs)
}

// theirs tells by its name whether a file or folder is of one of the jobs.
func (f *forgetting) theirs(name string) bool {
	return slices.Contains(f.mark.Jobs, returned.JobOf(name))
}

func (f *forgetting) card(context.Context) error {
	for _, path := range cardFiles(f.room, f.mark.Card) {
		if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		if err := (store.Disk{}).SyncDir(filepath.Dir(path)); err != nil {
			return err
		}
	}
	return nil
}

func (f *forgetting) unmark() error {
	if err := os.Remove(store.ForgettingMark(f.st.Dir())); err != nil {
		return err
	}
	return store.Disk{}.SyncDir(f.st.Dir())
}

// removeIn removes the folders and files of a folder that is picks.
func removeIn(dir string, is func(name string) bool) error {
	entries, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	for _, e := range entries {
		if !is(e.Name()) {
			continue
		}
		path := filepath.Join(dir, e.Name())
		if e.IsDir() {
			err = store.RemoveTree(store.Disk{}, path)
		} else {
			err = os.Remove(path)
		}
		if err != nil {
			return fmt.Errorf("removing %s: %w", pattern.Printable(path), err)
		}
	}
	return store.Disk{}.SyncDir(dir)
}

// Package forget removes a person's measures from a workroom: the measure card and all that was made for it. It takes a
// workroom in which no daemon runs and the card's name, and gives what was removed and what a person must still see to. Of
// the jobs the number, the device, the state and the dates stay.
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
	"tracewheel/pipeline/reading"
	"tracewheel/pipeline/store"
	"tracewheel/pipeline/trusted"
)

// Done is what was forgotten, and what a person must still see to.
type Done struct {
	Jobs []int64
	// Copies are copies of the workroom that may still hold the card.
	Copies []backup.Noted
	// Unread counts the lines in the list of copies that cannot be read.
	Unread int
	// Drafts are files in the folder of drafts that name the card or its wearer; they stay.
	Drafts []string
	// Ledgers are old ledgers that were set aside.
	Ledgers []string
}

// mark is kept in the store while a card is being forgotten, so that it can be continued after a crash: by then it alone
// knows the jobs.
type mark struct {
	Card string  `json:"card"`
	Jobs []int64 `json:"jobs"`
	// Wearers are the names of the card's wearer, the card's own among them.
	Wearers []string `json:"wearers"`
	// Files are the names under which the jobs' drafts were dropped.
	Files []string `json:"files"`
}

// forgetting is the forgetting of one card.
type forgetting struct {
	room *config.Workroom
	st   *store.Store
	led  *ledger.Ledger
	mark mark
	// others are the other cards that are there.
	others []string
	// reached is called before each step; an error ends it there, as a kill would. For tests.
	reached func(step string) error
}

// ErrUnended means that a job of the card has not ended.
var ErrUnended = errors.New("first cancel what has not ended, or let it end")

// Would gives the jobs that Forget would take, and changes nothing; a daemon may run. It gives them also with the error
// ErrUnended.
func Would(ctx context.Context, room *config.Workroom, card string) (jobs []int64, err error) {
	card, err = plain(card)
	if err != nil {
		return nil, err
	}
	led, err := reading.Ledger(ctx, room)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	f := &forgetting{room: room, st: store.Look(room.Path(room.Folders.Store)), led: led}
	err = f.look(ctx, card)
	if led != nil {
		err = errors.Join(err, led.Close())
	}
	return f.mark.Jobs, err
}

// Forget removes a card and all that was made for it. It takes the store's lock, so no daemon may run: log and ledger are
// written anew. A mark in the store is durable before the first removal, and is removed after the last; after a crash in
// between, another call continues.
func Forget(ctx context.Context, room *config.Workroom, card string) (Done, error) {
	return forget(ctx, room, card, func(string) error { return nil })
}

func forget(ctx context.Context, room *config.Workroom, card string, reached func(string) error) (done Done, err error) {
	card, err = plain(card)
	if err != nil {
		return done, err
	}
	st, err := store.Open(room.Path(room.Folders.Store), store.Disk{})
	if errors.Is(err, store.ErrInUse) {
		return done, fmt.Errorf("%w: stop the daemon first, then say this again; the log and the ledger are written anew", store.ErrInUse)
	}
	if err != nil {
		return done, err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	led, err := trusted.Open(ctx, trusted.Opening{Store: st, Log: zap.NewNop()})
	if err != nil {
		return done, err
	}
	f := &forgetting{room: room, st: st, led: led, reached: reached}
	err = f.all(ctx, card)
	if err = errors.Join(err, led.Close()); err != nil {
		return done, err
	}
	if done, err = f.left(); err == nil {
		err = f.unmark()
	}
	return done, err
}

// plain gives the bare name of a card as a person writes it.
func plain(card string) (string, error) {
	card = pattern.TrimYAML(card)
	if !store.PlainName(card) {
		return "", fmt.Errorf("%q is not the name of a measure card: give it as its file in the folder of cards is called", card)
	}
	return card, nil
}

// left gives what was done, and what is left for a person.
func (f *forgetting) left() (done Done, err error) {
	done.Jobs = f.mark.Jobs
	done.Drafts, err = naming(f.room.Path("drafts"), func(s said) bool { return f.isNamed(s) || slices.ContainsFunc(s.bodies, f.isCard) })
	if err == nil {
		done.Ledgers, err = filepath.Glob(filepath.Join(f.st.Dir(), "stray", "ledger-*"))
	}
	if err == nil {
		done.Copies, done.Unread, err = backup.Made(f.st.Dir())
	}
	if err != nil {
		err = fmt.Errorf("the measures of %q are removed; what still names it could not be listed, so mend this and say it again: %w", f.mark.Card, err)
	}
	return done, err
}

// all does the steps. The ledger comes first, in one transaction: after it nothing of the jobs can be found by the ledger,
// and the mark alone knows what is still there.
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
	f.mark = mark{Card: card, Jobs: []int64{}, Files: []string{}}
	cards, err := f.cardFiles()
	if err == nil {
		f.mark.Wearers, err = wearersOf(cards, card)
	}
	if err == nil {
		err = f.seeOthers()
	}
	if err != nil {
		return err
	}
	if err := f.find(ctx); err != nil {
		return err
	}
	if len(cards) == 0 && len(f.mark.Jobs) == 0 {
		return fmt.Errorf("there is no measure card %q, and no job was made for it", card)
	}
	return nil
}

// find lists the jobs that were made for the card, and refuses where one of them has not ended or is in the inbox yet.
func (f *forgetting) find(ctx context.Context) error {
	inbox, err := naming(f.room.Path(f.room.Folders.Inbox), f.isFor)
	if err != nil {
		return err
	}
	var going []string
	for after := int64(0); f.led != nil; {
		records, err := f.led.Records(ctx, after, 500)
		if err != nil {
			return err
		}
		if len(records) == 0 {
			break
		}
		for _, r := range records {
			after = r.Job.ID
			is, err := f.madeFor(r)
			switch {
			case err != nil:
				return fmt.Errorf("looking through job %d: %w", r.Job.ID, err)
			case !is:
			case !r.Job.State.Ended():
				going = append(going, fmt.Sprintf("job %d is %s", r.Job.ID, r.Job.State.Plain()))
				f.mark.Jobs = append(f.mark.Jobs, r.Job.ID)
			default:
				f.mark.Jobs, f.mark.Files = append(f.mark.Jobs, r.Job.ID), append(f.mark.Files, r.Job.File)
			}
		}
	}
	for _, file := range inbox {
		going = append(going, fmt.Sprintf("%s is in the inbox and names the card or its wearer", pattern.Printable(file)))
	}
	if len(going) > 0 {
		return fmt.Errorf("%w: %s", ErrUnended, strings.Join(going, ", "))
	}
	return nil
}

// madeFor tells whether a job was made for the card: by the cards kept with it, the answers, the wearer, its draft and its
// ticket.
func (f *forgetting) madeFor(r ledger.Record) (bool, error) {
	j := r.Job
	if j.Stripped == ledger.Forgotten {
		return false, nil
	}
	all := said{cards: []string{j.Answers["body"]}, wearers: []string{j.Wearer}}
	for _, file := range r.Files {
		if name, is := file.Card(); is {
			all.cards = append(all.cards, name)
		}
		_, with := file.With()
		if file.Name != j.Ticket && (file.Name != j.Original && !with || !yamlName(file.Name)) || file.Size > textLimit {
			continue
		}
		text, err := f.st.Read(j.ID, file.Name)
		if errors.Is(err, fs.ErrNotExist) {
			continue // verify reports it
		}
		if err != nil {
			return false, err
		}
		one := saidBy(text)
		all.cards, all.wearers, all.bodies = append(all.cards, one.cards...), append(all.wearers, one.wearers...), append(all.bodies, one.bodies...)
	}
	return f.isFor(all), nil
}

func (f *forgetting) unmark() error {
	if err := os.Remove(store.ForgettingMark(f.st.Dir())); err != nil {
		return err
	}
	return store.Disk{}.SyncDir(f.st.Dir())
}

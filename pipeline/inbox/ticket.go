package inbox

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/store"
)

// claimTicket claims the ticket that lies beside a claimed file under its own name, before it the drafts that it
// names, and gives the path of the one to be copied, empty for none. A ticket for which another file of the same name waits stays
// where it is and is only copied: it goes with the last of them.
func (t *Taker) claimTicket(c *claim) (path string, err error) {
	if c.ticketPath != "" {
		return c.ticketPath, t.claimWith(c, c.ticketPath, c.ticketName())
	}
	beside, shared, err := t.beside(c.device, c.name)
	if err != nil || beside == "" {
		return "", err
	}
	dir := t.Dir(c.device)
	from, to := filepath.Join(dir, beside), filepath.Join(dir, claimName(c.job, true, beside))
	if err := t.claimWith(c, from, beside); err != nil || shared {
		return from, err
	}
	if err := t.FS.RenameNew(from, to); err != nil {
		if errors.Is(err, fs.ErrNotExist) {
			return "", ticketGone(beside)
		}
		return "", store.WithAdvice(fmt.Errorf("taking the ticket %q out of the inbox: %w", beside, err))
	}
	c.ticketPath = to
	return to, nil
}

// ticketGone is an ErrUnreadable: all files get their names back and are taken again as they are then.
func ticketGone(name string) error {
	return notRead(fmt.Sprintf("its ticket %s was taken away while the draft was taken", name))
}

// listLasts is how long one list of a folder is used for tickets: with thousands of files, a list for each claim would
// take longer than the claim.
const listLasts = 250 * time.Millisecond

// listing is a look through a folder: files by their names without endings, tickets by what they are of.
type listing struct {
	at             time.Time
	files, tickets map[string][]string
}

// list looks through a folder, at most once in listLasts.
func (t *Taker) list(device string) (listing, error) {
	if l, is := t.lists[device]; is && time.Since(l.at) < listLasts {
		return l, nil
	}
	l := listing{at: time.Now(), files: map[string][]string{}, tickets: map[string][]string{}}
	entries, err := t.FS.ReadDir(t.Dir(device))
	if err != nil {
		return l, err
	}
	for _, e := range entries {
		if !e.Type().IsRegular() || pattern.LeftAlone(e.Name()) {
			continue
		}
		if of, is := pattern.TicketOf(e.Name()); is {
			l.tickets[of] = append(l.tickets[of], e.Name())
		} else {
			l.files[stem(e.Name())] = append(l.files[stem(e.Name())], e.Name())
		}
	}
	if t.lists == nil {
		t.lists = map[string]listing{}
	}
	t.lists[device] = l
	return l, nil
}

// beside finds the ticket of a file in the folder, and whether other files wait for it. The list may be a little old: the
// ticket that it gives is looked at, and a ticket of the usual name is found without it.
func (t *Taker) beside(device, name string) (ticket string, shared bool, err error) {
	l, err := t.list(device)
	if err != nil {
		return "", false, err
	}
	for _, of := range []string{name, stem(name)} { // one that names the file with its ending comes first
		for _, n := range append(slices.Clone(l.tickets[of]), of+".ticket.yaml", of+".ticket.yml") {
			if t.isThere(device, n) {
				others := append(slices.Clone(l.files[of]), of)
				named := t.named(filepath.Join(t.Dir(device), n))
				return n, slices.ContainsFunc(others, func(o string) bool {
					return o != name && !slices.Contains(named, o) && t.isThere(device, o) && !(o != of && t.hasOwn(device, o))
				}), nil
			}
		}
	}
	return "", false, nil
}

// hasOwn tells whether there is a ticket with the file's whole name, so that the file waits for no other.
func (t *Taker) hasOwn(device, name string) bool {
	return t.isThere(device, name+".ticket.yaml") || t.isThere(device, name+".ticket.yml")
}

func (t *Taker) isThere(device, name string) bool {
	info, err := t.FS.Lstat(filepath.Join(t.Dir(device), name))
	return err == nil && info.Mode().IsRegular()
}

// strangeTicket is an ErrUnreadable: a file whose ticket is a link, a pipe or a folder stays where it is. Made without the
// ticket it would lose the sizes, copies and allowance in it.
func strangeTicket(name string) error {
	return notRead(fmt.Sprintf("its ticket %s is no plain file and is not read: put the ticket itself in its place, or take it away", name))
}

// plainTicket refuses a file whose ticket is not a plain file.
func (t *Taker) plainTicket(dir, name string) error {
	for _, of := range []string{name, stem(name)} {
		for _, end := range []string{".ticket.yaml", ".ticket.yml"} {
			if info, err := t.FS.Lstat(filepath.Join(dir, of+end)); err == nil && !info.Mode().IsRegular() {
				return strangeTicket(of + end)
			}
		}
	}
	return nil
}

// A ticket may name drafts that are made with its own (with: [a.svg, b.yaml]). They are looked for in the device's
// folder and then in the workroom's folder of drafts. Those in the device's folder are taken by that job, and make none
// of their own:
//   - the core holds a file that a ticket names, as long as the ticket lies there, and takes the ticket's own draft when
//     all named ones that lie there have settled;
//   - the taker refuses to claim a draft while one that its ticket names is in neither folder, is written to or changes,
//     so that it waits in the inbox, and `tracewheel jobs` says for what;
//   - they are claimed under the job's number before the ticket is, which holds the others as long as it lies there, and
//     before the folder is synced; they are copied with the draft and entered in the same transaction. A crash leaves a
//     claim with some of them; finishing claims the others. Where one is gone by then, all get their names back: the ticket
//     first, so that no named draft is taken for itself, the draft last.

// named are the drafts that a ticket in the folder names, nil where it cannot be read: it is read again when it changes.
func (t *Taker) named(path string) []string {
	f, err := t.open(path)
	if err != nil {
		return nil
	}
	text, err := io.ReadAll(io.LimitReader(f, largestTicket))
	if err = errors.Join(err, f.Close()); err != nil {
		return nil
	}
	return pattern.WithOf(text)
}

// waiting is an ErrUnreadable: a draft stays where it is while drafts that its ticket names are missing.
type waiting struct {
	ticket  string
	missing []string
	drafts  bool
}

func (e waiting) Error() string {
	where, or := "not here", ""
	if e.drafts {
		where, or = "neither here nor in the workroom's folder drafts", " or, for several tickets, into that folder"
	}
	is, it := "is", "it"
	if len(e.missing) > 1 {
		is, it = "are", "them"
	}
	return fmt.Sprintf("it waits: its ticket %s names %s, which %s %s; put %[5]s here, again if another job took %[5]s%[6]s, or take %[5]s out of the ticket",
		e.ticket, strings.Join(e.missing, ", "), is, where, it, or)
}

func (waiting) Is(target error) bool { return target == ErrUnreadable }

// ticketNames are the drafts that the ticket beside a file names, without the file itself.
func (t *Taker) ticketNames(device, name string) (ticket string, names []string, err error) {
	ticket, _, err = t.beside(device, name)
	if err != nil || ticket == "" {
		return "", nil, err
	}
	return ticket, without(t.named(filepath.Join(t.Dir(device), ticket)), name), nil
}

func without(names []string, name string) []string {
	return slices.DeleteFunc(names, func(n string) bool { return n == name })
}

// lies looks for a draft that a ticket names: in the device's folder, otherwise among the workroom's drafts, where drafts
// is true. The error is fs.ErrNotExist where it is in neither.
func (t *Taker) lies(device, name string) (e Entry, drafts bool, err error) {
	info, err := t.FS.Lstat(filepath.Join(t.Dir(device), name))
	switch {
	case err == nil && info.Mode().IsRegular():
		return entryOf(info), false, nil
	case err == nil:
		return e, false, strangeTicket(name)
	case !errors.Is(err, fs.ErrNotExist) || t.Drafts == "":
		return e, false, err
	}
	if info, err = t.FS.Lstat(filepath.Join(t.Drafts, name)); err == nil && !info.Mode().IsRegular() {
		err = fs.ErrNotExist
	}
	if err != nil {
		return e, false, err
	}
	return entryOf(info), true, nil
}

// together looks for all drafts that the ticket of a draft names, and gives those in the device's folder. All that are
// missing are told at once; drafts too large to be read together are refused.
func (t *Taker) together(device, ticket string, own Entry, names []string) (here []Entry, err error) {
	sum, missing := own.Size, []string(nil)
	for _, n := range names {
		e, drafts, err := t.lies(device, n)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			missing = append(missing, n)
			continue
		case err != nil:
			return nil, err
		case !drafts:
			here = append(here, e)
		}
		sum += e.Size
	}
	switch {
	case len(missing) > 0:
		return nil, waiting{ticket, missing, t.Drafts != ""}
	case sum > pattern.MostTogether && len(names) > 0:
		return nil, largeTogether(ticket, sum)
	}
	return here, nil
}

// claimWith claims the drafts in the folder that the claim's ticket, at a path, names; called is the ticket's name.
func (t *Taker) claimWith(c *claim, ticket, called string) error {
	for _, n := range without(t.named(ticket), c.name) {
		if _, is := c.with[n]; is {
			continue
		}
		_, drafts, err := t.lies(c.device, n)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			return waiting{called, []string{n}, t.Drafts != ""}
		case err != nil:
			return err
		case drafts:
			continue
		}
		from, to := filepath.Join(t.Dir(c.device), n), filepath.Join(t.Dir(c.device), withClaim(c.job, n))
		if err := t.FS.RenameNew(from, to); err != nil {
			return store.WithAdvice(fmt.Errorf("taking %q out of the inbox: %w", from, err))
		}
		if c.with == nil {
			c.with = map[string]string{}
		}
		c.with[n] = to
		if err := t.FS.NoWriter(to); errors.Is(err, store.ErrWriting) {
			return stillWritten(n)
		}
	}
	return nil
}

// stillWritten is an ErrUnreadable: a program opened the file between the look and the claim, and all files get their
// names back.
func stillWritten(name string) error {
	return notRead(fmt.Sprintf("%s, which its ticket names, is still being written", name))
}

package inbox

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
	"time"

	"tracewheel/pipeline/store"
)

// claimTicket claims the ticket that lies beside a claimed file under its own name, and gives the path
// of the one to be copied, empty for none. A ticket for which another file of the same name waits stays
// where it is and is only copied: it goes with the last of them.
func (t *Taker) claimTicket(c *claim) (path string, err error) {
	if c.ticketPath != "" {
		return c.ticketPath, nil
	}
	beside, shared, err := t.beside(c.device, c.name)
	if err != nil || beside == "" {
		return "", err
	}
	dir := t.Dir(c.device)
	from, to := filepath.Join(dir, beside), filepath.Join(dir, claimName(c.job, true, beside))
	if shared {
		return from, nil
	}
	if err := t.FS.RenameNew(from, to); err != nil {
		if errors.Is(err, fs.ErrNotExist) {
			return "", nil
		}
		return "", store.WithAdvice(fmt.Errorf("taking the ticket %q out of the inbox: %w", beside, err))
	}
	c.ticketPath = to
	return to, nil
}

// listLasts is how long one look through a folder serves for tickets: among thousands of files a look
// for each claim would take longer than the claim.
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
		if !e.Type().IsRegular() || leftAlone(e.Name()) {
			continue
		}
		if of, is := isTicket(e.Name()); is {
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

// beside finds the ticket of a file in the folder, and whether other files wait for it. The listing may
// be a little old: what it names is looked at, and a ticket of the usual name is found without it.
func (t *Taker) beside(device, name string) (ticket string, shared bool, err error) {
	l, err := t.list(device)
	if err != nil {
		return "", false, err
	}
	for _, of := range []string{name, stem(name)} { // one that names the file with its ending comes first
		for _, n := range append(slices.Clone(l.tickets[of]), of+".ticket.yaml", of+".ticket.yml") {
			if t.isThere(device, n) {
				others := append(slices.Clone(l.files[of]), of)
				return n, slices.ContainsFunc(others, func(o string) bool {
					return o != name && t.isThere(device, o) && !(o != of && t.hasOwn(device, o))
				}), nil
			}
		}
	}
	return "", false, nil
}

// hasOwn tells whether a ticket lies there that names the file with its ending, so that it waits for no other.
func (t *Taker) hasOwn(device, name string) bool {
	return t.isThere(device, name+".ticket.yaml") || t.isThere(device, name+".ticket.yml")
}

func (t *Taker) isThere(device, name string) bool {
	info, err := t.FS.Lstat(filepath.Join(t.Dir(device), name))
	return err == nil && info.Mode().IsRegular()
}

// strangeTicket is an ErrUnreadable: a file whose ticket is a link, a pipe or a folder stays where it is, since made
// without it the sizes, copies and allowance that it says would be lost.
type strangeTicket struct{ name string }

func (e strangeTicket) Error() string {
	return fmt.Sprintf("its ticket %s is no plain file and is not read: put the ticket itself in its place, or take it away", e.name)
}

func (strangeTicket) Is(target error) bool { return target == ErrUnreadable }

// plainTicket refuses a file beside which something else lies by the name of its ticket.
func (t *Taker) plainTicket(dir, name string) error {
	for _, of := range []string{name, stem(name)} {
		for _, end := range []string{".ticket.yaml", ".ticket.yml"} {
			if info, err := t.FS.Lstat(filepath.Join(dir, of+end)); err == nil && !info.Mode().IsRegular() {
				return strangeTicket{of + end}
			}
		}
	}
	return nil
}

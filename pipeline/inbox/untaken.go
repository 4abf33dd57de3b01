package inbox

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/store"
)

// Why something in the inbox becomes no job.
const (
	whyFolder  = "folders are left alone: drop the files themselves"
	whyLink    = "links are left alone: drop the file itself"
	whyStrange = "this is no plain file and is left alone"
	whyLone    = "a ticket lies in the inbox and no file of its name; it goes with the next one that comes"
)

// strangeWhy says why a file that is not plain is left alone.
func strangeWhy(t fs.FileMode) string {
	switch {
	case t.IsDir():
		return whyFolder
	case t&fs.ModeSymlink != 0:
		return whyLink
	}
	return whyStrange
}

// outsideWhy says why a file beside the devices' folders is left alone.
func outsideWhy(dir bool, devices []string) string {
	if dir {
		return "no device has this name, its folder is left alone; the devices are " + strings.Join(devices, ", ")
	}
	return "this lies outside the devices' folders: move it into the folder of the device that is to make it"
}

// outside lists what lies beside the devices' folders.
func outside(fsys store.FS, root string, devices []string) (list []ledger.Untaken) {
	entries, err := fsys.ReadDir(root)
	if err != nil {
		return nil
	}
	for _, e := range entries {
		if !pattern.LeftAlone(e.Name()) && !slices.Contains(devices, e.Name()) {
			list = append(list, untaken("", e.Name(), outsideWhy(e.IsDir(), devices)))
		}
	}
	return list
}

func untaken(device, name, why string) ledger.Untaken {
	return ledger.Untaken{Device: device, File: name, State: ledger.NotTaken, Why: why}
}

func sortUntaken(list []ledger.Untaken) []ledger.Untaken {
	slices.SortFunc(list, func(a, b ledger.Untaken) int {
		return cmp.Or(cmp.Compare(a.Device, b.Device), cmp.Compare(a.File, b.File))
	})
	return list
}

// Look lists, where no daemon runs, what a daemon would not take, as far as this user can tell: a file counts as
// unreadable where this user cannot open it. drafts is the workroom's folder of drafts.
func Look(fsys store.FS, root string, devices []string, drafts string) []ledger.Untaken {
	list := outside(fsys, root, devices)
	for _, device := range devices {
		dir := filepath.Join(root, device)
		if err := store.NoLink(fsys, dir); err != nil {
			list = append(list, untaken(device, "", err.Error()))
			continue
		}
		entries, err := fsys.ReadDir(dir)
		if err != nil {
			if !errors.Is(err, fs.ErrNotExist) {
				list = append(list, untaken(device, "", fmt.Sprintf("the folder cannot be read: %v", err)))
			}
			continue
		}
		tickets, files := map[string]string{}, map[string]bool{}
		for _, e := range entries {
			name := e.Name()
			if pattern.LeftAlone(name) {
				continue
			}
			if !e.Type().IsRegular() {
				list = append(list, untaken(device, name, strangeWhy(e.Type())))
				continue
			}
			of, is := pattern.TicketOf(name)
			if is {
				tickets[name] = of
			} else {
				files[stem(name)], files[name] = true, true
			}
			if f, err := fsys.OpenFile(filepath.Join(dir, name), os.O_RDONLY, 0); errors.Is(err, fs.ErrPermission) {
				list = append(list, untaken(device, name, ErrUnreadable.Error()))
			} else if err == nil {
				_ = f.Close() // only asked
				if info, err := e.Info(); err == nil {
					if err := withinSize(entryOf(info), is); err != nil {
						list = append(list, untaken(device, name, err.Error()))
					}
				}
			}
		}
		for name, of := range tickets {
			if !files[of] {
				list = append(list, untaken(device, name, whyLone))
			}
		}
		t := &Taker{FS: fsys, Root: root, Drafts: drafts}
		list = append(list, t.waits(device, entries)...)
	}
	return sortUntaken(list)
}

// Untaken lists what the inbox logged and is still there. It may be called from any goroutine; files dropped since the
// last look through the folders are not in it yet.
func (in *Inbox) Untaken() []ledger.Untaken {
	in.mu.Lock()
	list := slices.Clone(in.untaken)
	in.mu.Unlock()
	return slices.DeleteFunc(list, func(u ledger.Untaken) bool {
		_, err := in.taker.FS.Lstat(filepath.Join(in.taker.Root, u.Device, u.File))
		return errors.Is(err, fs.ErrNotExist)
	})
}

// place is where a fault or a strange file was met; name is empty for a device's whole folder, and claims is true for the
// claims in it.
type place struct {
	device, name string
	claims       bool
}

// prune forgets the faults of files and devices that are gone; otherwise they would be kept for ever, and not logged again
// when the name comes back.
func (in *Inbox) prune(devices []string) {
	for p := range in.faults {
		if !slices.Contains(devices, p.device) || p.name != "" && in.core.file(p.device, p.name) == nil {
			delete(in.faults, p)
		}
	}
}

// publish makes the list that Untaken gives.
func (in *Inbox) publish() {
	var list []ledger.Untaken
	for p, why := range in.strange {
		list = append(list, untaken(p.device, p.name, why))
	}
	for p, why := range in.faults {
		list = append(list, untaken(p.device, p.name, why))
	}
	for _, l := range in.lone {
		list = append(list, untaken(l.Device, l.Entry.Name, whyLone))
	}
	for _, h := range in.held {
		list = append(list, untaken(h.Device, h.Entry.Name, heldWhy(h.Ticket)))
	}
	sortUntaken(list)
	in.mu.Lock()
	in.untaken = list
	in.mu.Unlock()
}

// heldWhy says why a draft that a ticket names waits: the ticket's own draft is missing, or is held by another ticket.
func heldWhy(ticket string) string {
	return fmt.Sprintf("the ticket %s names it, so it waits for that ticket's draft, which is not here or is itself named by a ticket; it becomes a job of its own when the ticket is taken away", ticket)
}

// waits lists drafts that wait for others that a ticket names, where no inbox has logged them.
func (t *Taker) waits(device string, entries []fs.DirEntry) (list []ledger.Untaken) {
	c := newCore(Settings{}.filled())
	for _, e := range entries {
		info, err := e.Info()
		if err != nil || !info.Mode().IsRegular() {
			continue
		}
		seen := entryOf(info)
		if _, is := pattern.TicketOf(seen.Name); is {
			seen.With = t.named(filepath.Join(t.Dir(device), seen.Name))
		}
		c.saw(time.Now(), device, seen, false)
	}
	for _, h := range c.held() {
		list = append(list, untaken(device, h.Entry.Name, heldWhy(h.Ticket)))
	}
	if f := c.devices[device]; f != nil {
		for name, s := range f.files {
			ticket := f.ticketOf(s)
			if s.ticket || ticket == nil || f.holder(s) != nil {
				continue
			}
			if _, err := t.together(device, ticket.Name, s.Entry, without(slices.Clone(ticket.With), name)); err != nil {
				list = append(list, untaken(device, name, err.Error()))
			}
		}
	}
	return list
}

package inbox

import (
	"cmp"
	"slices"
	"time"

	"tracewheel/pipeline/pattern"
)

// Entry is what is seen of one file.
type Entry struct {
	Name string
	Size int64
	Mod  time.Time
	// With are the drafts that a ticket names beside its own.
	With []string
}

func (e Entry) same(o Entry) bool { return e.Size == o.Size && e.Mod.Equal(o.Mod) }

// Take is a decision: this file is to be taken now.
type Take struct {
	Device string
	Entry  Entry
	// Ticket is the name of the ticket beside it, empty for none.
	Ticket string
	// Trial is true for a file that never came to rest: it is taken only if it can be read whole and does not change
	// meanwhile.
	Trial bool
	// Unsure is true for a file of which the system does not tell whether a program still writes to it; it has rested
	// longer.
	Unsure bool
}

// folder is what lies in a device's folder.
type folder struct {
	files map[string]*seen
	// groups are files by their names without endings, and tickets by the names that they are for.
	groups map[string]*group
	// named are the tickets that name a file beside their own draft.
	named map[string][]*seen
}

type group struct{ files, tickets []*seen }

// seen is one file that lies in the folder.
type seen struct {
	Entry
	device string
	ticket bool
	group  *group
	order  int
	first  time.Time // when it was first seen
	quiet  time.Time // since when it has not changed
	after  time.Time // not before this, after a failed taking
	tries  int
	inUse  bool // decided on, and not yet reported back
	unsure bool // it cannot be told whether it is still written to
	told   bool // a lone ticket that was logged

	// at, trial and place belong to the queue.
	at    time.Time
	trial bool
	place int
}

// add puts a file among those of its name.
func (f *folder) add(s *seen) {
	of, is := pattern.TicketOf(s.Name)
	if !is {
		of = stem(s.Name)
	}
	g := f.groups[of]
	if g == nil {
		g = &group{}
		f.groups[of] = g
	}
	s.ticket, s.group = is, g
	if is {
		g.tickets = append(g.tickets, s)
		slices.SortFunc(g.tickets, func(a, b *seen) int { return cmp.Compare(a.Name, b.Name) })
	} else {
		g.files = append(g.files, s)
	}
	f.files[s.Name] = s
}

// ticketOf is the ticket of a file, nil for none: one that names it with its ending comes first.
func (f *folder) ticketOf(s *seen) *seen {
	for _, g := range []*group{f.groups[s.Name], s.group} {
		if g != nil && len(g.tickets) > 0 {
			return g.tickets[0]
		}
	}
	return nil
}

// filesOf are the files that a ticket may be of.
func (f *folder) filesOf(ticket *seen) []*seen {
	of, _ := pattern.TicketOf(ticket.Name)
	files := slices.Clone(ticket.group.files)
	if s := f.files[of]; s != nil && !s.ticket {
		files = append(files, s)
	}
	return files
}

// holder is the ticket that names a file to be made with another draft, nil for none. A ticket does not hold the only file
// that it may itself be for.
func (f *folder) holder(s *seen) *seen {
	for _, t := range f.named[s.Name] {
		own := f.filesOf(t)
		if !slices.Contains(own, s) || slices.ContainsFunc(own, func(o *seen) bool { return !slices.Contains(t.With, o.Name) }) {
			return t
		}
	}
	return nil
}

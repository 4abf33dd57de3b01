package inbox

import (
	"cmp"
	"slices"
	"time"
)

// Entry is what a look at one file says.
type Entry struct {
	Name string
	Size int64
	Mod  time.Time
}

func (e Entry) same(o Entry) bool { return e.Size == o.Size && e.Mod.Equal(o.Mod) }

// Take is a decision: this file is to be taken now.
type Take struct {
	Device string
	Entry  Entry
	// Ticket is the name of the ticket beside it, empty for none.
	Ticket string
	// Trial is true for a file that never came to rest: it is taken only if it can be read whole
	// and does not change meanwhile.
	Trial bool
}

// core decides which files are to be taken. It is pure: what was seen and the time go in, decisions
// come out. It is used from one goroutine.
type core struct {
	settle, limit time.Duration
	devices       map[string]map[string]*seen
	count         int
}

// seen is one file that lies in the folder.
type seen struct {
	Entry
	order int
	first time.Time // when it was first seen
	quiet time.Time // since when it has not changed
	after time.Time // not before this, after a failed taking
	tries int
	inUse bool // decided on, and not yet reported back
	told  bool // a lone ticket that was told of
}

// emptyTimes is how many times longer an empty file must rest: many copiers make the name first and
// write later, and one that is really empty is in no hurry.
const emptyTimes = 4

func newCore(settle, limit time.Duration) *core {
	return &core{settle: settle, limit: limit, devices: map[string]map[string]*seen{}}
}

// saw notes that a file was looked at; touched says that an event told of writing, which starts the
// moment anew even if size and time are as before.
func (c *core) saw(now time.Time, device string, e Entry, touched bool) {
	if leftAlone(e.Name) {
		return
	}
	files := c.devices[device]
	if files == nil {
		files = map[string]*seen{}
		c.devices[device] = files
	}
	s := files[e.Name]
	if s == nil {
		c.count++
		files[e.Name] = &seen{Entry: e, order: c.count, first: now, quiet: now}
		return
	}
	if touched || !s.same(e) {
		s.quiet = now
	}
	s.Entry = e
}

// gone notes that a file is no longer there.
func (c *core) gone(device, name string) { delete(c.devices[device], name) }

// look notes everything that lies in a device's folder: what is not among it is gone.
func (c *core) look(now time.Time, device string, entries []Entry) {
	there := map[string]bool{}
	for _, e := range entries {
		there[e.Name] = true
		c.saw(now, device, e, false)
	}
	for name := range c.devices[device] {
		if !there[name] {
			c.gone(device, name)
		}
	}
}

// drop forgets a device.
func (c *core) drop(device string) { delete(c.devices, device) }

// back notes that a taking failed, so that the file is tried again, each time a little later.
func (c *core) back(now time.Time, device, name string) {
	s := c.devices[device][name]
	if s == nil {
		return
	}
	s.inUse = false
	s.tries++
	s.first = now
	s.after = now.Add(min(c.settle<<min(s.tries, 10), time.Minute))
}

// readyAt is when a file is to be taken, and whether that is a trial only.
func (c *core) readyAt(s *seen) (at time.Time, trial bool) {
	rest := c.settle
	if s.Size == 0 {
		rest *= emptyTimes
	}
	at = s.quiet.Add(rest)
	if end := s.first.Add(c.limit); end.Before(at) {
		at, trial = end, true
	}
	if at.Before(s.after) {
		at = s.after
	}
	return at, trial
}

// due gives the files to be taken now, in the order in which they came, and when there will be more;
// the zero time means never. A file waits for its ticket to settle.
func (c *core) due(now time.Time) (takes []Take, next time.Time) {
	type decided struct {
		Take
		order int
	}
	var all []decided
	for device, files := range c.devices {
		tickets, _ := ticketsOf(files)
		for name, s := range files {
			if _, is := isTicket(name); is || s.inUse {
				continue
			}
			at, trial := c.readyAt(s)
			t := tickets[stem(name)]
			if t != nil {
				tat, ttrial := c.readyAt(t)
				if tat.After(at) {
					at = tat
				}
				trial = trial || ttrial
			}
			if at.After(now) {
				next = sooner(next, at)
				continue
			}
			s.inUse = true
			d := decided{Take{Device: device, Entry: s.Entry, Trial: trial}, s.order}
			if t != nil {
				d.Ticket = t.Name
			}
			all = append(all, d)
		}
	}
	slices.SortFunc(all, func(a, b decided) int { return cmp.Compare(a.order, b.order) })
	for _, d := range all {
		takes = append(takes, d.Take)
	}
	return takes, next
}

// ticketsOf finds the tickets among files, and how many files each is for.
func ticketsOf(files map[string]*seen) (tickets map[string]*seen, sharers map[string]int) {
	tickets, sharers = map[string]*seen{}, map[string]int{}
	for name, s := range files {
		if of, is := isTicket(name); is {
			if old := tickets[of]; old == nil || name < old.Name {
				tickets[of] = s
			}
		} else {
			sharers[stem(name)]++
		}
	}
	return tickets, sharers
}

// lone gives tickets that have waited past the limit for a file, each once.
func (c *core) lone(now time.Time) (names []Take) {
	for device, files := range c.devices {
		_, sharers := ticketsOf(files)
		for name, s := range files {
			of, is := isTicket(name)
			if is && !s.told && sharers[of] == 0 && now.Sub(s.first) >= c.limit {
				s.told = true
				names = append(names, Take{Device: device, Entry: s.Entry})
			}
		}
	}
	slices.SortFunc(names, func(a, b Take) int {
		return cmp.Or(cmp.Compare(a.Device, b.Device), cmp.Compare(a.Entry.Name, b.Entry.Name))
	})
	return names
}

func sooner(a, b time.Time) time.Time {
	if a.IsZero() || b.Before(a) {
		return b
	}
	return a
}

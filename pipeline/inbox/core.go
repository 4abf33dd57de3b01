package inbox

import (
	"cmp"
	"container/heap"
	"slices"
	"time"

	"tracewheel/pipeline/pattern"
)

// core decides which files are to be taken. It has no input and output: it is told the time and what was seen, and gives
// decisions. It is used from one goroutine. What is seen of one file costs the logarithm of the number of files.
type core struct {
	clocks  Settings
	devices map[string]*folder
	count   int
	queue   queue
}

// emptyTimes is how many times longer an empty file must rest: many copying programs make the name first and write later.
const emptyTimes = 4

// openWait is the longest pause between two attempts at a file that another program has open.
const openWait = 5 * time.Second

func newCore(clocks Settings) *core {
	return &core{clocks: clocks, devices: map[string]*folder{}}
}

// set changes the times.
func (c *core) set(clocks Settings) {
	c.clocks = clocks
	for _, f := range c.devices {
		for _, s := range f.files {
			c.plan(s)
		}
	}
}

// saw notes that a file was looked at; touched is true where an event says that it was written to, which starts its rest
// again even if size and time are the same.
func (c *core) saw(now time.Time, device string, e Entry, touched bool) {
	if pattern.LeftAlone(e.Name) {
		return
	}
	f := c.devices[device]
	if f == nil {
		f = &folder{files: map[string]*seen{}, groups: map[string]*group{}, named: map[string][]*seen{}}
		c.devices[device] = f
	}
	s := f.files[e.Name]
	if s == nil {
		c.count++
		with := e.With
		e.With = nil // they are set by names
		s = &seen{Entry: e, device: device, order: c.count, first: now, quiet: now, place: -1}
		f.add(s)
		c.names(f, s, with)
		c.arrived(f, s)
	} else {
		if touched || !s.same(e) {
			s.quiet = now
		}
		with := e.With
		e.With = s.With
		s.Entry = e
		c.names(f, s, with)
	}
	c.planAll(s)
}

// gone notes that a file is no longer there.
func (c *core) gone(device, name string) {
	s := c.file(device, name)
	if s == nil {
		return
	}
	f, is := c.devices[device], func(o *seen) bool { return o == s }
	c.names(f, s, nil)
	delete(f.files, name)
	s.group.files, s.group.tickets = slices.DeleteFunc(s.group.files, is), slices.DeleteFunc(s.group.tickets, is)
	if len(s.group.files)+len(s.group.tickets) == 0 {
		of, ticket := pattern.TicketOf(name)
		if !ticket {
			of = stem(name)
		}
		delete(f.groups, of)
	}
	c.unplan(s)
	if s.ticket {
		c.planAll(s)
	}
}

func (c *core) file(device, name string) *seen {
	if f := c.devices[device]; f != nil {
		return f.files[name]
	}
	return nil
}

// look notes all files of a device's folder: a file that is not among them is gone.
func (c *core) look(now time.Time, device string, entries []Entry) {
	there := map[string]bool{}
	for _, e := range entries {
		there[e.Name] = true
		c.saw(now, device, e, false)
	}
	f := c.devices[device]
	if f == nil {
		return
	}
	for name := range f.files {
		if !there[name] {
			c.gone(device, name)
		}
	}
}

// drop forgets a device.
func (c *core) drop(device string) {
	if f := c.devices[device]; f != nil {
		for _, s := range f.files {
			c.unplan(s)
		}
	}
	delete(c.devices, device)
}

// back notes that a taking failed: the file is tried again, each time a little later.
func (c *core) back(now time.Time, device, name string) { c.again(now, device, name, time.Minute) }

// open notes that another program has the file open for writing.
func (c *core) open(now time.Time, device, name string) { c.again(now, device, name, openWait) }

func (c *core) again(now time.Time, device, name string, longest time.Duration) {
	s := c.file(device, name)
	if s == nil {
		return
	}
	s.inUse = false
	s.tries++
	s.first = now
	s.after = now.Add(min(c.clocks.Settle<<min(s.tries, 10), longest))
	c.plan(s)
}

// unsure notes that it cannot be told whether a file is still written to: it must rest longer.
func (c *core) unsure(device, name string) {
	if s := c.file(device, name); s != nil {
		s.inUse, s.unsure = false, true
		c.plan(s)
	}
}

// readyAt is when a file is to be taken, and whether that is only a trial.
func (c *core) readyAt(s *seen) (at time.Time, trial bool) {
	rest := c.clocks.Settle
	if s.Size == 0 {
		rest *= emptyTimes
	}
	if s.unsure {
		rest = max(rest, c.clocks.Unsure)
	}
	at = s.quiet.Add(rest)
	if end := s.first.Add(max(c.clocks.Limit, rest)); end.Before(at) {
		at, trial = end, true
	}
	if at.Before(s.after) {
		at = s.after
	}
	return at, trial
}

// planAll plans a file, or for a ticket all files that it belongs to.
func (c *core) planAll(s *seen) {
	f := c.devices[s.device]
	if s.ticket {
		for _, o := range f.filesOf(s) {
			c.plan(o)
		}
		return
	}
	c.plan(s)
	for _, t := range f.named[s.Name] {
		for _, o := range f.filesOf(t) {
			c.plan(o)
		}
	}
}

// plan puts a file at its place in the queue. A file waits until its ticket has settled.
func (c *core) plan(s *seen) {
	if s.ticket {
		return
	}
	f := c.devices[s.device]
	if s.inUse || f.holder(s) != nil {
		c.unplan(s)
		return
	}
	s.at, s.trial = c.readyAt(s)
	if ticket := f.ticketOf(s); ticket != nil {
		at, trial := c.readyAt(ticket)
		if at.After(s.at) {
			s.at = at
		}
		s.trial = s.trial || trial
		c.settled(f, ticket, s)
	}
	if s.place < 0 {
		heap.Push(&c.queue, s)
	} else {
		heap.Fix(&c.queue, s.place)
	}
}

func (c *core) unplan(s *seen) {
	if s.place >= 0 {
		heap.Remove(&c.queue, s.place)
	}
}

// due gives the files to be taken now, in the order in which they came, and the time when there will be more, zero for
// never.
func (c *core) due(now time.Time) (takes []Take, next time.Time) {
	var all []*seen
	for len(c.queue) > 0 && !c.queue[0].at.After(now) {
		s := heap.Pop(&c.queue).(*seen)
		s.inUse = true
		all = append(all, s)
	}
	slices.SortFunc(all, func(a, b *seen) int { return cmp.Compare(a.order, b.order) })
	for _, s := range all {
		t := Take{Device: s.device, Entry: s.Entry, Trial: s.trial, Unsure: s.unsure}
		if ticket := c.devices[s.device].ticketOf(s); ticket != nil {
			t.Ticket = ticket.Name
		}
		takes = append(takes, t)
	}
	if len(c.queue) > 0 {
		next = c.queue[0].at
	}
	return takes, next
}

// lone gives tickets without a file; fresh are those that have waited past the limit and were not given before.
func (c *core) lone(now time.Time) (all, fresh []Take) {
	for device, f := range c.devices {
		for _, s := range f.files {
			if !s.ticket || len(f.filesOf(s)) > 0 {
				continue
			}
			all = append(all, Take{Device: device, Entry: s.Entry})
			if !s.told && now.Sub(s.first) >= c.clocks.Limit {
				s.told = true
				fresh = append(fresh, Take{Device: device, Entry: s.Entry})
			}
		}
	}
	for _, list := range [][]Take{all, fresh} {
		slices.SortFunc(list, func(a, b Take) int {
			return cmp.Or(cmp.Compare(a.Device, b.Device), cmp.Compare(a.Entry.Name, b.Entry.Name))
		})
	}
	return all, fresh
}

// queue holds files by the time at which they are to be taken.
type queue []*seen

func (q queue) Len() int           { return len(q) }
func (q queue) Less(i, j int) bool { return q[i].at.Before(q[j].at) }
func (q queue) Swap(i, j int) {
	q[i], q[j] = q[j], q[i]
	q[i].place, q[j].place = i, j
}
func (q *queue) Push(x any) {
	s := x.(*seen)
	s.place = len(*q)
	*q = append(*q, s)
}
func (q *queue) Pop() any {
	old := *q
	s := old[len(old)-1]
	old[len(old)-1], *q = nil, old[:len(old)-1]
	s.place = -1
	return s
}

// names notes the drafts that a ticket names, nil for a ticket that is gone, and plans anew the files that it named before
// and those that it names now.
func (c *core) names(f *folder, t *seen, with []string) {
	if !t.ticket || slices.Equal(t.With, with) {
		return
	}
	was := t.With
	t.With = with
	for _, n := range was {
		if f.named[n] = slices.DeleteFunc(f.named[n], func(o *seen) bool { return o == t }); len(f.named[n]) == 0 {
			delete(f.named, n)
		}
	}
	for _, n := range with {
		f.named[n] = append(f.named[n], t)
	}
	for _, n := range append(slices.Clone(was), with...) {
		if s := f.files[n]; s != nil {
			c.planAll(s)
		}
	}
}

// arrived plans the drafts that may have waited for a file, and those that its ticket names.
func (c *core) arrived(f *folder, s *seen) {
	if t := f.ticketOf(s); t != nil && !s.ticket {
		for _, n := range t.With {
			if o := f.files[n]; o != nil && o != s && !o.ticket {
				c.plan(o)
			}
		}
	}
	for _, t := range f.named[s.Name] {
		for _, o := range f.filesOf(t) {
			if o != s {
				o.after = s.quiet
				c.plan(o)
			}
		}
	}
}

// settled puts a file off until the drafts that its ticket names, and that are there, can be taken too.
func (c *core) settled(f *folder, t *seen, at *seen) {
	for _, n := range t.With {
		if s := f.files[n]; s != nil && s != at && !s.ticket {
			when, trial := c.readyAt(s)
			if when.After(at.at) {
				at.at = when
			}
			at.trial = at.trial || trial
		}
	}
}

// held are the files that wait for the draft of a ticket that names them; it is missing, or waits itself.
func (c *core) held() (all []Take) {
	for device, f := range c.devices {
		for name, tickets := range f.named {
			s := f.files[name]
			if s == nil || s.ticket || f.holder(s) == nil {
				continue
			}
			if !slices.ContainsFunc(tickets, func(t *seen) bool {
				return slices.ContainsFunc(f.filesOf(t), func(o *seen) bool { return o != s && f.holder(o) == nil })
			}) {
				all = append(all, Take{Device: device, Entry: s.Entry, Ticket: f.holder(s).Name})
			}
		}
	}
	return all
}

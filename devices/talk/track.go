package talk

import (
	"bytes"
	"sort"

	"tracewheel/devices"
)

// track counts what was sent, taken and surely drawn.
type track struct {
	prog devices.Program
	prof devices.Profile
	from int

	block   int // the block being sent
	sent    int // the last block of which a byte was sent
	total   int64
	written int64
	taken   int64
	counted bool // taken is known
	ends    []blockEnd
	lines   []int64 // ends of lines that a controller may not have carried out yet
	cut     int     // bytes of the block being sent that were sent
	sure    Mark
	proven  Mark // what was sure when the device was last heard; a dead one takes bytes as well
	// paused is true from the moment a knife is held until it goes on: what the device had not carried out by then, it
	// never will. place is where it stood, nil where it did not say.
	paused bool
	place  *Place
	// confirmed is true when the device has said that nothing is left to do.
	confirmed bool
}

// blockEnd is the number of bytes that were written when a block was complete.
type blockEnd struct {
	block int
	at    int64
}

func newTrack(prog devices.Program, from int, prof devices.Profile) track {
	t := track{prog: prog, prof: prof, from: max(0, min(from, len(prog.Blocks))), sent: -1, sure: Mark{Block: -1, Known: true}, proven: Mark{Block: -1}}
	if t.from > prog.Prelude {
		_, t.from = prog.From(t.from) // never inside a stroke
	}
	t.from = max(t.from, prog.Prelude)
	for i, b := range prog.Blocks {
		if i < prog.Prelude || i >= t.from {
			t.total += int64(len(b.Bytes))
		}
	}
	return t
}

// first is the block that is sent first: the prelude, or the wanted block where there is none.
func (t *track) first() (int, bool) { return t.after(-1) }

// after is the block that follows i; after the prelude it is the wanted one.
func (t *track) after(i int) (int, bool) {
	i++
	if i >= t.prog.Prelude && i < t.from {
		i = t.from
	}
	if i >= len(t.prog.Blocks) {
		return 0, false
	}
	t.cut = 0
	return i, true
}

// jump goes back to an earlier block after a knife was held, or on to another program.
type jump struct {
	block int
	prog  *devices.Program
}

func (*jump) Error() string { return "going on from an earlier block" }

func (t *track) restart(j *jump) (int, bool) {
	t.from = max(j.block, t.prog.Prelude)
	for i, b := range t.prog.Blocks {
		if i < t.prog.Prelude || (i >= t.from && i <= t.block) {
			t.total += int64(len(b.Bytes))
		}
	}
	t.total -= int64(len(t.prog.Blocks[t.block].Bytes) - t.cut)
	t.ends, t.lines, t.taken, t.counted = nil, nil, t.written, false
	t.paused, t.place = false, nil
	return t.first()
}

// change goes on with another program; what was written stays counted.
func (t *track) change(prog devices.Program) (int, bool) {
	written := t.written
	*t = newTrack(prog, 0, t.prof)
	t.written, t.total, t.taken = written, t.total+written, written
	return t.first()
}

// strokeStart is the first block of the stroke to which block i belongs.
func (t *track) strokeStart(i int) int {
	for i > t.prog.Prelude && i < len(t.prog.Blocks) && t.prog.Blocks[i].Stroke >= 0 &&
		t.prog.Blocks[i-1].Stroke == t.prog.Blocks[i].Stroke {
		i--
	}
	return i
}

func (t *track) wrote(n int) {
	b := t.prog.Blocks[t.block].Bytes
	if t.prof.Language == devices.GCode {
		for i, c := range b[t.cut : t.cut+n] {
			if c == '\n' || c == '\r' {
				t.lines = append(t.lines, t.written+int64(i)+1)
			}
		}
	}
	t.written += int64(n)
	t.confirmed = false
	t.cut += n
	t.sent = max(t.sent, t.block)
	if t.cut == len(b) {
		t.ends = append(t.ends, blockEnd{t.block, t.written})
	}
}

// progressed works out what is taken and surely drawn.
func (t *track) progressed(s *session) {
	if t.paused {
		return
	}
	if n, ok := s.flow.Untaken(); ok {
		t.count(t.written - int64(n))
		if t.prof.Language == devices.GCode {
			t.sureLines()
		} else {
			t.sureBytes()
		}
		return
	}
	queued, known := s.line.Queued()
	if known && t.prof.Port.Buffer > 0 {
		const fifo = 256 // bytes in the transmitter, which no system counts
		t.count(t.written - int64(queued+t.prof.Port.Buffer+fifo))
		t.sureBytes()
		return
	}
	if t.written > 0 && t.sure.Block < 0 {
		t.sure.Known = false
	}
}

// surely gives what is sure of a device that is no longer heard; by the count of bytes alone where bare says that nothing
// contradicts it.
func (t *track) surely(bare bool) Mark {
	if t.written == 0 || bare {
		return t.sure
	}
	return t.proven
}

func (t *track) count(n int64) {
	t.taken, t.counted = max(t.taken, n), true
}

// sureLines moves the sure mark for a controller: the last few of the acknowledged lines may still wait in its planner.
func (t *track) sureLines() {
	depth := t.prof.Port.Planner
	if depth <= 0 {
		t.sure.Known = t.sure.Block >= 0 || t.written == 0
		return
	}
	acked := sort.Search(len(t.lines), func(i int) bool { return t.lines[i] > t.taken })
	if keep := acked - depth; keep > 0 {
		t.advance(t.lines[keep-1], 0)
		t.lines = t.lines[keep-1:]
	}
}

// sureBytes moves the sure mark for a plotter: the blocks that left its buffer were begun, and the last of them may still
// be drawn.
func (t *track) sureBytes() { t.advance(t.taken, 1) }

// advance moves the sure mark to the last block that ends at or before at, and then back by less.
func (t *track) advance(at int64, less int) {
	n := sort.Search(len(t.ends), func(i int) bool { return t.ends[i].at > at }) - less
	if n > 0 {
		t.sure = Mark{Block: t.ends[n-1].block, Known: true}
		t.ends = t.ends[n-1:]
	}
}

// allDone moves all marks to the end: the device has said that nothing is left to do.
func (t *track) allDone() {
	t.count(t.written)
	t.confirmed = true
	if len(t.ends) > 0 {
		t.advance(t.written, 0)
	}
	t.proven = t.sure
}

func (t *track) progress(s *session) Progress {
	t.progressed(s)
	sure := t.surely(s.prof.Port.Silent)
	p := Progress{Bytes: t.written, Total: t.total, Block: t.block, Stroke: -1, Piece: -1, Sure: t.strokeAt(sure),
		SureBlock: -1, SureKnown: sure.Known, Waiting: s.waiting, Person: s.person, Held: s.held, Remark: s.noted, Ending: s.ending, Place: t.place, Sent: t.sent}
	if sure.Known {
		p.SureBlock = sure.Block
	}
	if t.block < len(t.prog.Blocks) {
		p.Stroke, p.Piece = t.prog.Blocks[t.block].Stroke, t.prog.Blocks[t.block].Piece
	}
	return p
}

// strokeAt gives the last stroke that is whole at a mark, -1 for none.
func (t *track) strokeAt(m Mark) int {
	for i := m.Block; m.Known && i >= 0; i-- {
		if b := t.prog.Blocks[i]; b.EndsStroke {
			return b.Stroke
		}
	}
	return -1
}

// countLines counts lines for a controller that answers them under a habit that does not wait for the answers. Lines lost
// by a wrong habit spoil the cut although the machine ends idle.
func (s *session) countLines(p []byte) { s.lines += bytes.Count(p, []byte("\n")) }

// linesAnew restarts the count after a reset that has emptied the machine.
func (s *session) linesAnew() { s.lines, s.says.oks = 0, 0 }

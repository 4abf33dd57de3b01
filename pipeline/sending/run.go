package sending

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"tracewheel/devices"
	"tracewheel/devices/hpgl"
	"tracewheel/devices/talk"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
)

// run is one sending: the program on the line, and how its blocks correspond to those of the job's own program. Its
// methods are called from the sending goroutine only.
type run struct {
	ctx  context.Context
	in   job.Run
	prof devices.Profile
	make func(ctx context.Context, in job.Draft, r job.Rest) (devices.Program, error)
	prog devices.Program
	// from is the block of prog that is sent first.
	from int
	// anew is true when prog is no longer the job's own program: only the numbers of strokes are the same then.
	anew bool
	// stroke and held are where prog goes on after it was made anew.
	stroke int
	held   *ledger.Place
	whole  devices.StrokeEnds
	// paused is the last place at which it was held, as the device gave it; stood is the same place in the job's
	// strokes.
	paused *talk.Place
	stood  *ledger.Place
	// fed is a remark that is made once: that the page was fed before the first byte of the plot.
	fed string
	// after is how many seconds each block of prog takes with all that follow it, at the end 0; summed is the first block
	// of the program of which that was worked out.
	after  []float64
	summed *devices.Block
	// pace corrects it; counted is the first block of prog that it has not taken in.
	pace    pace
	counted int
}

// begin decides what is sent. Where each stroke relies on the blade's heading after the one before, a start in the
// middle needs a new program with an alignment stroke of its own.
func (s *Sender) begin(ctx context.Context, in job.Run, prof devices.Profile) (*run, error) {
	if made := in.Program.Language; made != prof.Language {
		return nil, fmt.Errorf("the job was made in %s, and by the workroom file %s now speaks %s: cancel it, then use `again`", made, in.Device, prof.Language)
	}
	if s := in.Program.Setting; s != nil {
		prof = s.On(prof)
	}
	r := &run{ctx: ctx, in: in, prof: prof, pace: pace{now: time.Now}, make: s.rest, prog: in.Program, from: in.From, whole: devices.StrokeEndsOf(in.Program)}
	if in.Held != nil {
		return r, r.remake(in.Held.Stroke, in.Held)
	}
	if in.From <= in.Program.Prelude {
		r.freshPage()
		return r, nil
	}
	if !in.Program.Chained {
		return r, nil
	}
	for b := in.From; b < len(in.Program.Blocks); b++ {
		if stroke := in.Program.Blocks[b].Stroke; stroke >= 0 {
			return r, r.remake(stroke, nil)
		}
	}
	return nil, errors.New("nothing is left to cut from there")
}

// freshPage keeps a plot that starts at its first byte from being drawn over another: a person puts a sheet in after
// the prelude, or a page left half drawn is fed. The number of blocks stays the same.
func (r *run) freshPage() {
	last, n := r.in.Last, r.in.Program.Prelude
	if r.prof.Language == devices.GCode || r.toolUp() || last.Job == 0 {
		return
	}
	blocks, feed := slices.Clone(r.prog.Blocks), hpgl.Feed(r.prof)
	switch {
	case r.prof.Plot.Long == hpgl.LongSheets && n > 0:
		blocks[n-1].WaitForPerson = fmt.Sprintf("lay a fresh sheet on the plotter: sheet 1 of job %d", r.in.Job)
	case last.Done || last.Sent && !r.prof.Plot.SerialControl: // such a sending ends by emptying the device's buffer
	case feed != nil:
		blocks[0].Bytes = append(feed, blocks[0].Bytes...)
		r.fed = fmt.Sprintf("the page was fed first, because the plot of job %d on it had not come to its end", last.Job)
	}
	r.prog.Blocks = blocks
}

// remake replaces the program by one of the rest of the job, from a stroke or from a place in it.
func (r *run) remake(stroke int, held *ledger.Place) error {
	draft, err := r.in.Draft()
	if err != nil {
		return fmt.Errorf("the draft cannot be read again: %w", err)
	}
	prog, err := r.make(r.ctx, draft, job.Rest{Whole: r.in.Program, Stroke: stroke, Held: held})
	if err != nil {
		return err
	}
	r.prog, r.from, r.anew, r.stroke, r.held = prog, 0, true, stroke, held
	return nil
}

// goOn gives the program by which a held blade is lowered again after a person has confirmed that nothing has shifted.
func (r *run) goOn(place *talk.Place, sure talk.Mark, sent int) (devices.Program, error) {
	stroke, held, left := r.heldIn(place, sure, sent)
	if !left {
		r.prog, _ = r.prog.From(min(sent, len(r.prog.Blocks)-1))
		r.anew = true
		return r.prog, nil
	}
	if !r.toolUp() {
		err := r.remake(stroke, held)
		return r.prog, err
	}
	for b := range r.prog.Blocks {
		if r.prog.Blocks[b].Stroke == stroke {
			r.prog, _ = r.prog.From(b)
			r.anew = true
			break
		}
	}
	return r.prog, nil
}

// heldIn is the function heldIn for the program that is on the line.
func (r *run) heldIn(place *talk.Place, sure talk.Mark, sent int) (stroke int, held *ledger.Place, left bool) {
	if r.toolUp() || !r.prof.Kind.Cuts() {
		place = nil // nothing was cut, so the stroke can be made from its start
	}
	stroke, held, left = heldIn(r.prog, r.prof, place, sure, sent)
	if left && held == nil && r.anew && stroke == r.stroke {
		held = r.held // it was held again before it was lowered
	}
	return stroke, held, left
}

// toolUp tells whether the job moves with the tool up throughout. Block.Down alone does not tell: it says where the
// tool is after a block, and a plotter's stroke of one block ends with its pen up.
func (r *run) toolUp() bool {
	return !slices.ContainsFunc(r.in.Program.Blocks, func(b devices.Block) bool { return b.Down || b.DrawnMM > 0 })
}

// block gives the last block of the job's own program that is surely made.
func (r *run) block(block, stroke int) int {
	if r.anew {
		return r.whole.Block(stroke)
	}
	return block
}

// ofJob turns a count of bytes of this sending into one of the whole job: what is left out counts as sent. A blade
// that is lowered again takes further bytes, so the total may grow.
func (r *run) ofJob(sent, total int64) (bytes, of int64) {
	whole := int64(r.in.Program.Len())
	return sent + max(0, whole-total), max(whole, total)
}

// left is how many seconds the blocks take of which nothing is sent, at the pace of this sending until now. They are summed
// once for each program.
func (r *run) left(p talk.Progress) float64 {
	if len(r.prog.Blocks) == 0 {
		return 0
	}
	at := func(block int) int { return min(max(block+1, r.from), len(r.prog.Blocks)) }
	if r.summed != &r.prog.Blocks[0] {
		r.after, r.summed = make([]float64, len(r.prog.Blocks)+1), &r.prog.Blocks[0]
		for b := len(r.prog.Blocks) - 1; b >= 0; b-- {
			r.after[b] = r.after[b+1] + r.prog.Blocks[b].Seconds
		}
		r.counted = at(-1)
	}
	made := at(p.Sent)
	if p.SureKnown {
		made = min(made, at(p.SureBlock))
	}
	made = max(made, r.counted)
	r.pace.look(r.after[r.counted]-r.after[made], p.Person || p.Held)
	r.counted = made
	return r.after[at(p.Sent)] * r.pace.ratio()
}

func (r *run) progress(p talk.Progress) control.Progress {
	bytes, total := r.ofJob(p.Bytes, p.Total)
	out := control.Progress{Bytes: bytes, Total: total, Stroke: p.Stroke, Piece: p.Piece, Sure: -1, SureBlock: -1,
		Waiting: p.Waiting, Person: p.Person, Held: p.Held, Remark: p.Remark, Ending: p.Ending, Left: r.left(p)}
	if r.fed != "" && p.Bytes > 0 && p.Remark == "" {
		out.Remark, r.fed = r.fed, ""
	}
	if p.Ending {
		out.Remark += fmt.Sprintf(", then: tracewheel whole %d, or: tracewheel spoilt %d", r.in.Job, r.in.Job)
	}
	if p.SureKnown {
		out.Sure, out.SureBlock = p.Sure, r.block(p.SureBlock, p.Sure)
	}
	if p.Place != nil && p.Place != r.paused {
		r.paused = p.Place
		_, r.stood, _ = r.heldIn(p.Place, talk.Mark{Block: p.SureBlock, Known: p.SureKnown}, p.Sent)
	}
	if p.Place != nil {
		out.Place = r.stood
	}
	return out
}

func (r *run) outcome(o talk.Outcome) job.Outcome {
	out := job.Outcome{Reason: o.Reason, SureBlock: -1, ToolUp: o.Tool == talk.ToolUp, InDoubt: o.Reset}
	if o.Written > 0 {
		out.Bytes, out.Total = r.ofJob(o.Written, o.Total)
	}
	if o.Sure.Known {
		out.SureBlock = r.block(o.Sure.Block, o.SureStroke)
	}
	if o.Held != nil && !o.Reset {
		if b, known := madeBefore(r.prog, r.prof, *o.Held, r.from, o); known {
			out.SureBlock = max(out.SureBlock, r.block(b, devices.StrokeEndsOf(r.prog).Stroke(b)))
			_, out.Held, _ = r.heldIn(o.Held, talk.Mark{Block: b, Known: true}, o.Sent)
		}
	}
	switch o.State {
	case talk.Done:
		out.State = ledger.Completed
	case talk.Canceled:
		out.State = ledger.Canceled
	default:
		out.State = ledger.Stopped
		if o.Words != "" {
			out.Reason = fmt.Sprintf("%s (the device said %q)", o.Reason, o.Words)
		}
		if silent := errors.Is(o.Err, talk.ErrUnconfirmed) || errors.Is(o.Err, talk.ErrStall); silent && o.Sent == len(r.prog.Blocks)-1 {
			out.Reason += fmt.Sprintf("; then: tracewheel whole %d, or: tracewheel spoilt %d", r.in.Job, r.in.Job)
		}
		if errors.Is(o.Err, context.Canceled) {
			out.Reason += "; see to the machine, then: tracewheel resume or cancel"
		}
	}
	return out
}

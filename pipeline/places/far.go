package places

import (
	"math"

	"tracewheel/devices"
	"tracewheel/pipeline/ledger"
)

// Far is how far a program came: what a job's picture and the list of its pieces tell.
type Far struct {
	// Block is the last block that surely is made, Sure the last whole stroke, -1 for none.
	Block, Sure int
	// Sent is the last stroke of which anything may have been sent, -1 for none, Everything where nobody knows. What comes
	// after it is surely not made.
	Sent int
}

// Everything stands for the last stroke of any program.
const Everything = math.MaxInt32

// Open tells whether more may have been sent than is known.
func (f Far) Open() bool { return f.Sent == Everything }

// FarOf tells how far the runs of a program came that began with the last one from its start, the newest last. Of one that
// was cut short more may have been sent than was written down.
func FarOf(p devices.Program, runs []ledger.Send) Far {
	f := Far{Block: -1, Sure: -1, Sent: -1}
	for i := len(runs) - 1; i >= 0; i-- {
		s := runs[i]
		if i == len(runs)-1 {
			f.Block, f.Sure = s.Sure, s.Stroke
		}
		if s.End == "" || s.End == "cut short" {
			f.Sent = Everything
		}
		f.Sent = max(f.Sent, sentTo(p, s.Bytes))
		if s.First == 0 {
			break
		}
	}
	return f
}

// sentTo is the last stroke of a program, counted from 0, of which any of its first bytes is a part, -1 for none.
func sentTo(p devices.Program, bytes int64) int {
	last, at := -1, int64(0)
	for _, b := range p.Blocks {
		if at >= bytes {
			break
		}
		last = max(last, b.Stroke)
		at += int64(len(b.Bytes))
	}
	return last
}

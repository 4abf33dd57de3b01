package places

import (
	"math"

	"tracewheel/devices"
	"tracewheel/pipeline/ledger"
)

// Drawn is the length of line that a run sent to a pen or a blade, mm: from the block with which it began to the last
// one that was sent whole, all of them where it came to its end. After a kill it may be less than was sent, as the
// last bytes were not written down. Where a held blade was lowered again, the bytes for that count as the program's.
func Drawn(p devices.Program, s ledger.Send) (mm float64) {
	sent := int64(0)
	for i, b := range p.Blocks {
		if sent += int64(len(b.Bytes)); sent > s.Bytes && s.End != "done" {
			break
		}
		if i >= s.First {
			mm += b.DrawnMM
		}
	}
	return mm
}

// Ran is how far along its material a run surely came, mm: the whole length where every byte was sent.
func Ran(p devices.Program, s ledger.Send) (mm float64) {
	if s.AllSent() {
		return math.Inf(1)
	}
	for i, b := range p.Blocks {
		if i <= s.Sure && b.Stroke >= 0 && b.Stroke < len(p.Reach) {
			mm = max(mm, p.Reach[b.Stroke])
		}
	}
	return mm
}

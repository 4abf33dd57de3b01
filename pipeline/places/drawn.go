package places

import (
	"math"

	"tracewheel/devices"
	"tracewheel/pipeline/ledger"
)

// Drawn is how much line a run sent to a pen or a blade, in mm: the blocks from the one it began with whose last byte
// went down the line, all of them where it came to its end. A kill leaves what was last written of the bytes, which may
// be less than was sent. Of a blade that went on from the place where it was held, the bytes by which it went in again
// count as some of the program's.
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

// Ran is how far along its material a run surely came, mm: all of it where every byte went down the line.
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

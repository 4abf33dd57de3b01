package flow

import (
	"bytes"

	"tracewheel/devices"
)

// WholeInstructions is the length of the longest run of whole instructions at the start of p up to limit; all of p
// counts as whole, since a block ends where an instruction does. 0 means that the first instruction is longer.
func WholeInstructions(lang devices.Language, p []byte, limit int) int {
	if len(p) <= limit {
		return len(p)
	}
	if lang == devices.GCode {
		return bytes.LastIndexByte(p[:max(limit, 0)], '\n') + 1
	}
	whole := 0
	for i := 0; i < limit; i++ {
		if isLabel(p[i:], i == whole) { // text may contain a semicolon
			end := bytes.IndexByte(p[i:], etx)
			if end < 0 || i+end >= limit {
				return whole
			}
			i += end
			whole = i + 1
			continue
		}
		if p[i] == ';' {
			whole = i + 1
		}
	}
	return whole
}

// isLabel reports whether a label begins at p; atStart is true at the start of an instruction.
func isLabel(p []byte, atStart bool) bool {
	return atStart && len(p) >= 2 && p[0]|0x20 == 'l' && p[1]|0x20 == 'b'
}

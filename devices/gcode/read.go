package gcode

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"
	"strings"

	"tracewheel/devices"
)

// ReadOptions say what the reader takes for granted of the machine.
type ReadOptions struct {
	// MaxLine is the longest line taken, its end included; 0 is the 256 of RS274/NGC.
	MaxLine int
	// SkipDeleted leaves out lines that begin with a slash, as the machine's switch would.
	SkipDeleted bool
	// Start is where the machine stands, Stored where G28 takes it: x, y, z in mm.
	Start, Stored [3]float64
	// Axis is the letter of the rotary axis; empty is A.
	Axis byte
}

// FaultKind tells faults apart for programs that act on them.
type FaultKind string

// The faults. Of those marked hint a controller runs the line nevertheless.
const (
	Syntax          FaultKind = "syntax"
	LineTooLong     FaultKind = "line-too-long"
	UnknownCode     FaultKind = "unknown-code"
	ModalConflict   FaultKind = "modal-conflict"
	NoMotionMode    FaultKind = "no-motion-mode"
	NoFeed          FaultKind = "no-feed"
	MissingWord     FaultKind = "missing-word"
	UnusedWord      FaultKind = "unused-word"
	ArcRadius       FaultKind = "arc-radius"
	ArcRadiusTight  FaultKind = "arc-radius-tight"  // hint: allowed now, refused by the report of 2000
	UnitsUnstated   FaultKind = "units-unstated"    // hint
	LiveByte        FaultKind = "live-byte"         // hint: some controllers act on it at once
	UnmatchedMarker FaultKind = "unmatched-percent" // one % without the other
	NoEnd           FaultKind = "no-end"            // hint: neither M2 nor M30 nor %
	UnsafeMove      FaultKind = "unsafe-move"       // of Unsafe
)

// Fault is one thing wrong with a program.
type Fault struct {
	Line int // from 1
	Kind FaultKind
	Text string
	// Hint faults do not keep a controller from running the line.
	Hint bool
}

func (f Fault) Error() string { return fmt.Sprintf("line %d: %s", f.Line, f.Text) }

// Trace is what a program makes a machine do.
type Trace struct {
	Moves []devices.Move
	// Faults are in order of the lines; a line with one that is no hint moves nothing.
	Faults []Fault
	// Comments are the remarks, without their brackets.
	Comments []string
	// Dwell is the sum of all G4 in seconds, P taken as seconds.
	Dwell float64
	// Ended tells that M2 or M30 was met; no line behind it was read.
	Ended bool
}

// Errors are the faults that are no hints.
func (t Trace) Errors() []Fault {
	return slices.DeleteFunc(slices.Clone(t.Faults), func(f Fault) bool { return f.Hint })
}

// Read runs a program as the RS274/NGC interpreter's report describes it (Kramer, Proctor and
// Messina, NISTIR 6556, 2000, with the later radius rule of arcs beside its own), without a
// machine. It knows nothing of how this package writes programs. Parameters, expressions, cutter
// compensation and canned cycles are named as faults. Reading goes on after a fault, so that all
// are told at once.
func Read(data []byte, opt ReadOptions) Trace {
	r := newReader(opt)
	lines := splitLines(data)
	marker := firstMarker(lines)
	for i, l := range lines {
		r.line = i + 1
		if isMarker(l) {
			if marker > 0 && r.line > marker {
				marker = 0
				r.closed = true
				break
			}
			if r.line != marker {
				r.fault(UnmatchedMarker, "%% stands alone; it belongs on the first line and the last")
			}
			continue
		}
		if r.readLine(l); r.t.Ended {
			break
		}
	}
	if marker > 0 && !r.t.Ended {
		r.fault(UnmatchedMarker, "a %% opens the program and none closes it")
	}
	if !r.t.Ended && !r.closed {
		r.hint(NoEnd, "the program has no M2 or M30 at its end")
	}
	slices.SortStableFunc(r.t.Faults, func(a, b Fault) int { return cmp.Compare(a.Line, b.Line) })
	return r.t
}

// splitLines cuts at CR, LF or both.
func splitLines(data []byte) [][]byte {
	data = bytes.ReplaceAll(data, []byte("\r\n"), []byte("\n"))
	data = bytes.ReplaceAll(data, []byte("\r"), []byte("\n"))
	return bytes.Split(bytes.TrimSuffix(data, []byte("\n")), []byte("\n"))
}

func isMarker(l []byte) bool { return strings.TrimSpace(string(l)) == "%" }

// firstMarker is the line of a % that opens the program, 0 where none does.
func firstMarker(lines [][]byte) int {
	for i, l := range lines {
		if isMarker(l) {
			return i + 1
		}
		if len(bytes.TrimSpace(l)) > 0 {
			return 0
		}
	}
	return 0
}

func (r *reader) fault(k FaultKind, format string, args ...any) {
	r.bad = true
	r.t.Faults = append(r.t.Faults, Fault{Line: r.line, Kind: k, Text: fmt.Sprintf(format, args...)})
}

func (r *reader) hint(k FaultKind, format string, args ...any) {
	r.t.Faults = append(r.t.Faults, Fault{Line: r.line, Kind: k, Text: fmt.Sprintf(format, args...), Hint: true})
}

// readLine checks one line, and runs it where nothing is wrong with it.
func (r *reader) readLine(l []byte) {
	r.bad = false
	limit := cmp.Or(r.opt.MaxLine, 256)
	if len(l)+1 > limit {
		r.fault(LineTooLong, "the line holds %d characters, and %d is the most", len(l), limit-1)
	}
	for _, c := range l {
		if c == '?' || c == '!' || c == '~' || c == 0x18 || c >= 0x80 {
			r.hint(LiveByte, "byte %#02x acts at once on some controllers, even in a comment", c)
			break
		}
	}
	b := r.lex(l)
	if b.deleted && r.opt.SkipDeleted {
		return
	}
	r.groups(&b)
	if !r.bad {
		r.run(&b)
	}
}

// OptionsFor is what a reader must know of a machine of lines.
func OptionsFor(p devices.Profile) ReadOptions {
	if p.Gantry.Axis == "" {
		return ReadOptions{}
	}
	return ReadOptions{Axis: p.Gantry.Axis[0]}
}

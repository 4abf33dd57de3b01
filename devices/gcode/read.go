package gcode

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"
	"strings"

	"tracewheel/devices"
)

// ReadOptions are the reader's assumptions about the machine.
type ReadOptions struct {
	// MaxLine is the longest line taken, its line end included; 0 is the 256 of RS274/NGC.
	MaxLine int
	// SkipDeleted skips lines that begin with a slash, as the machine's block delete switch does.
	SkipDeleted bool
	// Start is the machine's place at first, Stored the place of G28: x, y, z in mm.
	Start, Stored [3]float64
	// Axis is the letter of the rotary axis; empty is A.
	Axis byte
}

// FaultKind is the kind of a fault, for programs that act on it.
type FaultKind string

// The kinds of fault. A controller runs a line with a fault marked hint nevertheless.
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
	UnsafeMove      FaultKind = "unsafe-move"       // found by Unsafe
)

// Fault is one fault of a program.
type Fault struct {
	Line int // from 1
	Kind FaultKind
	Text string
	// Hint faults do not stop a controller from running the line.
	Hint bool
}

func (f Fault) Error() string { return fmt.Sprintf("line %d: %s", f.Line, f.Text) }

// Trace is what a machine does with a program.
type Trace struct {
	Moves []devices.Move
	// Faults are in order of the lines; a line with a fault that is no hint moves nothing.
	Faults []Fault
	// Comments are the comments without their brackets.
	Comments []string
	// Dwell is the sum of all G4 in seconds, with P in seconds.
	Dwell float64
	// Ended is true where M2 or M30 was read; no line after it is.
	Ended bool
}

// Errors are the faults that are no hints.
func (t Trace) Errors() []Fault {
	return slices.DeleteFunc(slices.Clone(t.Faults), func(f Fault) bool { return f.Hint })
}

// Read simulates a program as the report of the RS274/NGC interpreter describes it (Kramer, Proctor and Messina,
// NISTIR 6556, 2000, with the later radius rule of arcs besides). It shares no code with the writer. Parameters,
// expressions, cutter compensation and canned cycles are faults. Reading continues after a fault, so that all are
// reported.
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

// splitLines splits at CR, LF or both.
func splitLines(data []byte) [][]byte {
	data = bytes.ReplaceAll(data, []byte("\r\n"), []byte("\n"))
	data = bytes.ReplaceAll(data, []byte("\r"), []byte("\n"))
	return bytes.Split(bytes.TrimSuffix(data, []byte("\n")), []byte("\n"))
}

func isMarker(l []byte) bool { return strings.TrimSpace(string(l)) == "%" }

// firstMarker is the line of the % that opens the program, 0 without one.
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

// readLine checks one line, and runs it if it has no fault.
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

// OptionsFor are the reader's options for a machine of a profile.
func OptionsFor(p devices.Profile) ReadOptions {
	if p.Gantry.Axis == "" {
		return ReadOptions{}
	}
	return ReadOptions{Axis: p.Gantry.Axis[0]}
}

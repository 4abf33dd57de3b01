package talk

import (
	"regexp"
	"strings"
	"time"

	"tracewheel/devices/flow"
)

// Dialect are the literals of a controller that acknowledges lines. The default is what one widely
// used open firmware family prints.
type Dialect struct {
	// Greeting matches the line printed after power-up and after each reset.
	Greeting *regexp.Regexp
	// Ok and Error begin the answer to a line, Alarm the word of a locked controller.
	Ok, Error, Alarm string
	// Status, Hold, Go and Reset are single bytes acted on at once, wherever a line stands; 0 is none.
	Status, Hold, Go, Reset byte
	// StatusEvery is how often a controller is asked that keeps an answer back.
	StatusEvery time.Duration
}

// DefaultDialect has the literals from which a profile without its own works.
func DefaultDialect() *Dialect {
	return &Dialect{
		// A name and a version, or the bare word that other firmware begins with.
		Greeting: regexp.MustCompile(`^(start|[A-Za-z][\w-]* v?\d+(\.\w+)+( .*)?)$`),
		Ok:       "ok", Error: "error:", Alarm: "ALARM:",
		Status: '?', Hold: '!', Go: '~', Reset: 0x18,
		StatusEvery: time.Second,
	}
}

// hear says what a line of the controller means.
func (d *Dialect) hear(line string) flow.Event {
	line = flow.Clean(line)
	if i := strings.LastIndexByte(line, '<'); i > 0 && strings.HasSuffix(line, ">") {
		line = line[i:] // behind the echo of the question
	}
	kind := flow.EventNote
	switch {
	case line == d.Ok:
		kind = flow.EventOk
	case strings.HasPrefix(line, d.Error):
		kind = flow.EventError
	case strings.HasPrefix(line, d.Alarm):
		kind = flow.EventAlarm
	case strings.HasPrefix(line, "<") && strings.HasSuffix(line, ">"):
		kind = flow.EventStatus
	case d.Greeting.MatchString(line):
		kind = flow.EventReset
	}
	return flow.Event{Kind: kind, Text: line}
}

// report is an answer to the status byte: state, and the place in work coordinates where they are
// told or can be computed.
type report struct {
	state  string // "Idle", "Run", "Hold:0" ...
	place  *Place
	offset *Place // what machine coordinates have more than work coordinates
}

// work is the place in work coordinates if they are told, else in machine coordinates.
func (r report) work() *Place {
	if r.place == nil || !r.place.Machine || r.offset == nil {
		return r.place
	}
	return &Place{X: r.place.X - r.offset.X, Y: r.place.Y - r.offset.Y, Z: r.place.Z - r.offset.Z}
}

func parseReport(text string) (report, bool) {
	if !strings.HasPrefix(text, "<") || !strings.HasSuffix(text, ">") {
		return report{}, false
	}
	fields := strings.Split(strings.Trim(text, "<>"), "|")
	if fields[0] == "" {
		return report{}, false
	}
	r := report{state: fields[0]}
	for _, f := range fields[1:] {
		name, val, _ := strings.Cut(f, ":")
		p, ok := parsePlace(val)
		switch {
		case !ok:
		case name == "WCO":
			r.offset = &p
		case name == "MPos" || name == "WPos":
			p.Machine = name == "MPos"
			r.place = &p
		}
	}
	return r, true
}

// base is the state without its stage: "Hold" of "Hold:1".
func (r report) base() string {
	b, _, _ := strings.Cut(r.state, ":")
	return b
}

// moving tells that the machine works on something and an answer may still take long.
func (r report) moving() bool {
	switch r.base() {
	case "Run", "Jog", "Home":
		return true
	}
	return false
}

// held tells that a person or the machine itself has stopped it for a while.
func (r report) held() bool { return r.base() == "Hold" || r.base() == "Door" }

// atRest tells that a hold is complete: nothing moves and the place is kept.
func (r report) atRest() bool {
	return r.state == "Hold:0" || r.state == "Hold" || r.state == "Door:0" || r.state == "Door:1" || r.base() == "Idle" || r.base() == "Check"
}

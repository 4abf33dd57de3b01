package talk

import (
	"regexp"
	"strings"
	"time"

	"tracewheel/devices/flow"
)

// Dialect holds the words of a controller that acknowledges lines. The default is what one widely used family of open
// firmware prints.
type Dialect struct {
	// Greeting matches the line printed after power-up and after each reset.
	Greeting *regexp.Regexp
	// Ok and Error are the beginnings of the answer to a line, Alarm that of a locked controller's message.
	Ok, Error, Alarm string
	// Status, Hold, Go and Reset are single bytes that act at once, also in the middle of a line; 0 is none.
	Status, Hold, Go, Reset byte
	// StatusEvery is the time between two status questions.
	StatusEvery time.Duration
}

// DefaultDialect gives the words that a profile without its own has.
func DefaultDialect() *Dialect {
	return &Dialect{
		// A name and a version, or the single word that other firmware prints first.
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
		line = line[i:] // after the echo of the question
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

// report is the answer to a status question: the state, and the place in work coordinates where the controller gives them
// or they can be computed.
type report struct {
	state  string // "Idle", "Run", "Hold:0" ...
	place  *Place
	offset *Place // machine coordinates less work coordinates
}

// work is the place in work coordinates where they are known, otherwise in machine coordinates.
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

// base is the state without its number: "Hold" of "Hold:1".
func (r report) base() string {
	b, _, _ := strings.Cut(r.state, ":")
	return b
}

// moving tells whether the machine works on something, so that an answer may take long.
func (r report) moving() bool {
	switch r.base() {
	case "Run", "Jog", "Home":
		return true
	}
	return false
}

// held tells whether a person or the machine itself has paused it.
func (r report) held() bool { return r.base() == "Hold" || r.base() == "Door" }

// atRest tells whether a hold is complete: nothing moves, and the place is kept.
func (r report) atRest() bool {
	return r.state == "Hold:0" || r.state == "Hold" || r.state == "Door:0" || r.state == "Door:1" || r.base() == "Idle" || r.base() == "Check"
}

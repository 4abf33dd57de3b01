package flow

import "strings"

// Control characters of the line, by ISO 646.
const (
	etx = 3
	enq = 5
	ack = 6
	DC1 = 17 // Xon
	DC3 = 19 // Xoff
)

// Kind is the kind of an Event.
type Kind int

const (
	EventLine   Kind = iota // a line of text of no other kind
	EventXon                // continue
	EventXoff               // stop
	EventAck                // a block may be sent
	EventOk                 // a line was accepted
	EventError              // a line was refused
	EventAlarm              // the controller is locked
	EventStatus             // an answer to the status byte
	EventReset              // the greeting after power-up or reset
	EventNote               // a message that answers nothing
)

// Event is something a device said; Text is the line for the kinds that are lines.
type Event struct {
	Kind Kind
	Text string
}

// lineLimit is the longest line in bytes; noise or an echo may make endless lines.
const lineLimit = 512

// Scanner splits bytes into flow characters and lines. Which control characters count depends on the flow habit: a
// device without Xon may send 17 for another reason.
type Scanner struct {
	XonXoff, Ack bool
	buf          []byte
}

// Scan takes the next bytes and calls emit for each event that they complete.
func (s *Scanner) Scan(p []byte, emit func(Event)) {
	for _, b := range p {
		switch {
		case s.XonXoff && b == DC1:
			emit(Event{Kind: EventXon})
		case s.XonXoff && b == DC3:
			emit(Event{Kind: EventXoff})
		case s.Ack && b == ack:
			emit(Event{Kind: EventAck})
		case b == '\r' || b == '\n':
			if len(s.buf) > 0 {
				emit(Event{Kind: EventLine, Text: string(s.buf)})
				s.buf = s.buf[:0]
			}
		default:
			if len(s.buf) >= lineLimit {
				s.buf = append(s.buf[:0], s.buf[lineLimit/2:]...)
			}
			s.buf = append(s.buf, b)
		}
	}
}

// Forget drops a partial line, for example after a question was given up.
func (s *Scanner) Forget() { s.buf = s.buf[:0] }

// Clean removes noise around an answer: answers do not begin with bytes outside ASCII.
func Clean(line string) string {
	return strings.TrimFunc(line, func(r rune) bool { return r <= ' ' || r > '~' })
}

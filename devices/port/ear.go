package port

// Control characters of the line, by ISO 646.
const (
	enq  = 5
	ack  = 6
	xon  = 17
	xoff = 19
	esc  = 27
	etx  = 3
)

// eventKind tells apart what a device can say.
type eventKind int

const (
	evLine   eventKind = iota // a line of text not known to be anything else
	evXon                     // go on
	evXoff                    // hold
	evAck                     // a block may come
	evOk                      // one line is taken
	evError                   // one line is refused
	evAlarm                   // the controller is locked
	evStatus                  // an answer to the status byte
	evReset                   // the greeting after power-up or reset
	evNote                    // a remark, an answer to nothing
)

type event struct {
	kind eventKind
	text string
}

// earLimit bounds a line that never ends, as garbage or an echo makes one.
const earLimit = 512

// ear takes bytes apart into flow characters and lines. Which control characters count depends on
// the flow habit: a device that knows no Xon may send 17 for a reason of its own.
type ear struct {
	xonxoff, ack bool
	buf          []byte
}

func (e *ear) hear(p []byte, emit func(event)) {
	for _, b := range p {
		switch {
		case e.xonxoff && b == xon:
			emit(event{kind: evXon})
		case e.xonxoff && b == xoff:
			emit(event{kind: evXoff})
		case e.ack && b == ack:
			emit(event{kind: evAck})
		case b == '\r' || b == '\n':
			if len(e.buf) > 0 {
				emit(event{kind: evLine, text: string(e.buf)})
				e.buf = e.buf[:0]
			}
		default:
			if len(e.buf) >= earLimit {
				e.buf = append(e.buf[:0], e.buf[earLimit/2:]...)
			}
			e.buf = append(e.buf, b)
		}
	}
}

// forget drops half a line, as after a question that was given up.
func (e *ear) forget() { e.buf = e.buf[:0] }

package flow

import (
	"strconv"
	"strings"
	"time"

	"tracewheel/devices"
)

// queryPause is the wait before a device with a full buffer is asked again. queryLimit is the longest time for an
// answer, which a device gives at once even while it draws. queryQuiet is the time of listening only after a question
// was given up.
const (
	queryPause = 200 * time.Millisecond
	queryLimit = 3 * time.Second
	queryQuiet = 500 * time.Millisecond
)

// QueryCost is the delay by a question without an answer.
const QueryCost = queryLimit + queryQuiet

// The questions that an HP-GL device answers: device control at once, even while it draws, output instructions in
// order.
const (
	AskRoom      = "\x1b.B" // the free bytes of its buffer
	AskState     = "\x1b.O"
	AskLineError = "\x1b.E"
	AskDropped   = "\x1b.J" // discards an answer that is stuck
	AskStatus    = "OS;"
	AskErrors    = "OE;"
)

// BufferQuery asks for free space and sends one chunk that fits. The question follows the last chunk on the line, so
// its answer counts that chunk, provided that one question is asked at a time and nothing is sent between question and
// answer.
type BufferQuery struct {
	size int
	lang devices.Language

	state  queryState
	until  time.Time // of asked, resting and quiet
	room   int       // bytes that may be sent before the next question
	held   int       // bytes in the device at its last answer, plus those sent since
	known  bool
	most   int  // the largest answer: an empty buffer
	silent int  // questions given up in a row
	lost   int  // total
	fed    bool // something was sent since the last question
	owns   bool // the last line answered a question of this habit
}

type queryState int

const (
	queryIdle    queryState = iota
	queryAsked              // one question is out
	queryResting            // the device is full
	queryHush               // a question was given up: a late answer must not count for the next one
)

// NewBufferQuery makes the habit that asks for free space, whatever the profile's own habit is.
func NewBufferQuery(p devices.PortProfile, lang devices.Language) *BufferQuery {
	return &BufferQuery{size: p.Buffer, lang: lang}
}

func (f *BufferQuery) Next(now time.Time, rest []byte, fresh bool) Step {
	if f.state != queryIdle && !now.Before(f.until) {
		f.expire(now)
	}
	if f.state != queryIdle {
		return Step{Again: f.until}
	}
	if f.room > 0 {
		if n := WholeInstructions(f.lang, rest, f.room); n > 0 {
			return Step{N: n}
		}
		if !fresh || f.room >= f.most-f.reserve() { // an instruction longer than any free space must be cut
			return Step{N: min(len(rest), f.room)}
		}
		if !f.fed { // the answer would be the same
			f.room, f.state, f.until = 0, queryResting, now.Add(queryPause)
			return Step{Again: f.until}
		}
	}
	return Step{Ask: f.question()}
}

// expire leaves a state whose time is over.
func (f *BufferQuery) expire(now time.Time) {
	if f.state == queryAsked {
		f.state, f.until = queryHush, now.Add(queryQuiet)
		f.silent++
		f.lost++
		return
	}
	f.state = queryIdle
}

// question is the question, after what clears a stuck answer.
func (f *BufferQuery) question() []byte {
	if f.silent > 0 {
		return []byte(AskDropped + AskRoom)
	}
	return []byte(AskRoom)
}

func (f *BufferQuery) Asked(now time.Time) {
	f.state, f.until, f.room, f.fed = queryAsked, now.Add(queryLimit), 0, false
}

func (f *BufferQuery) Sent(_ time.Time, p []byte) {
	f.room = max(0, f.room-len(p))
	f.held += len(p)
	f.fed = true
}

func (f *BufferQuery) Heard(now time.Time, e Event) bool {
	f.owns = false
	if e.Kind != EventLine || (f.state != queryAsked && f.state != queryHush) {
		return false
	}
	n, ok := Number(e.Text)
	if !ok || (f.size > 0 && n > f.size) {
		return false
	}
	f.owns = true
	if f.state == queryHush { // a late answer is nothing new, and does not answer another question
		return false
	}
	f.silent = 0
	f.most = max(f.most, n, f.size)
	held := f.most - n
	gained := !f.known || held < f.held
	f.held, f.known = held, true
	f.room = n - f.reserve()
	f.state = queryIdle
	if f.room < f.reserve() {
		f.room, f.state, f.until = 0, queryResting, now.Add(queryPause)
	}
	return gained
}

// reserve is kept free: some devices overflow when filled to the number that they gave.
func (f *BufferQuery) reserve() int { return min(128, max(f.most/8, 16)) }

// Mine reports whether the last line answered a question of this habit, so that it does not answer a question after
// it.
func (f *BufferQuery) Mine() bool { return f.owns }

// Lost is the number of questions that were given up.
func (f *BufferQuery) Lost() int { return f.lost }

// Awaited reports whether the answer to a question may still come.
func (f *BufferQuery) Awaited() bool { return f.state == queryAsked || f.state == queryHush }

// Resting reports whether the device was full and no question is unanswered.
func (f *BufferQuery) Resting() bool { return f.state == queryResting }

func (f *BufferQuery) Untaken() (int, bool) { return f.held, f.known && f.size > 0 }

func (f *BufferQuery) Revive(time.Time, int) bool {
	f.state, f.room = queryIdle, 0
	return true
}

// echoes are the questions that a device may echo before its answer.
var echoes = []string{AskRoom, AskState, AskLineError, AskStatus, AskErrors}

// Number reads the whole number in an answer, also after an echo of the question.
func Number(line string) (int, bool) {
	for _, q := range echoes {
		if i := strings.LastIndex(line, q); i >= 0 {
			line = line[i+len(q):]
		}
	}
	n, err := strconv.Atoi(Clean(line))
	return n, err == nil && n >= 0
}

package port

import (
	"strconv"
	"strings"
	"time"

	"tracewheel/devices"
)

// How often a device with a full buffer is asked again, how long an answer may take (it is given
// at once, whatever is drawn), and how long is listened in silence after one was given up.
const (
	queryPause = 200 * time.Millisecond
	queryLimit = 3 * time.Second
	queryQuiet = 500 * time.Millisecond
)

// queryText asks an HP-GL device for the free bytes of its buffer.
const queryText = "\x1b.B"

// bufferQuery asks for free space and sends one chunk that fits. The question is behind the chunk
// before it on the wire, so its answer already counts that chunk, as long as one question is out
// and nothing is sent between question and answer.
type bufferQuery struct {
	size, margin int
	lang         devices.Language

	state  queryState
	until  time.Time // of asked, resting and quiet
	room   int       // bytes that may still go before the next question
	held   int       // bytes that the device had by its last answer, plus those sent since
	known  bool
	most   int  // the largest answer: an empty buffer
	silent int  // questions given up in a row
	lost   int  // and in all
	fed    bool // something was sent since the last question
	owns   bool // the last line was the answer to a question of this habit
}

type queryState int

const (
	queryIdle    queryState = iota
	queryAsked              // one question is out
	queryResting            // the device was full
	queryHush               // a question was given up: a late answer must not count for the next
)

func (f *bufferQuery) next(now time.Time, rest []byte, fresh bool) step {
	if f.state != queryIdle && !now.Before(f.until) {
		f.expire(now)
	}
	if f.state != queryIdle {
		return step{again: f.until}
	}
	if f.room > 0 {
		if n := wholeInstructions(f.lang, rest, f.room); n > 0 {
			return step{n: n}
		}
		if !fresh || f.room >= f.most-f.reserve() { // an instruction longer than any room is cut
			return step{n: min(len(rest), f.room)}
		}
		if !f.fed { // asking again at once would get the same answer
			f.room, f.state, f.until = 0, queryResting, now.Add(queryPause)
			return step{again: f.until}
		}
	}
	return step{ask: f.question()}
}

// expire leaves a state whose time is over.
func (f *bufferQuery) expire(now time.Time) {
	if f.state == queryAsked {
		f.state, f.until = queryHush, now.Add(queryQuiet)
		f.silent++
		f.lost++
		return
	}
	f.state = queryIdle
}

// question clears an answer that may be stuck before it asks again.
func (f *bufferQuery) question() []byte {
	if f.silent > 0 {
		return []byte("\x1b.J" + queryText)
	}
	return []byte(queryText)
}

func (f *bufferQuery) asked(now time.Time) {
	f.state, f.until, f.room, f.fed = queryAsked, now.Add(queryLimit), 0, false
}

func (f *bufferQuery) sent(_ time.Time, p []byte) {
	f.room = max(0, f.room-len(p))
	f.held += len(p)
	f.fed = true
}

func (f *bufferQuery) heard(now time.Time, e event) bool {
	f.owns = false
	if e.kind != evLine || (f.state != queryAsked && f.state != queryHush) {
		return false
	}
	n, ok := number(e.text)
	if !ok || (f.size > 0 && n > f.size) {
		return false
	}
	f.owns = true
	if f.state == queryHush { // late: it is no news, and no answer to what somebody else asks
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

// reserve is never filled: some devices overflow when filled to the figure they gave.
func (f *bufferQuery) reserve() int { return min(128, max(f.most/8, 16)) }

// mine tells whether the last line answered a question of this habit, whether or not it was news: it is
// then no answer to a question that was put behind it.
func (f *bufferQuery) mine() bool { return f.owns }

func (f *bufferQuery) untaken() (int, bool) { return f.held, f.known && f.size > 0 }

func (f *bufferQuery) revive(time.Time, int) bool {
	f.state, f.room = queryIdle, 0
	return true
}

// echoes are the questions that a device may send back before its answer.
var echoes = []string{queryText, askState, askLineErr, askStatus, askErrors}

// number takes the whole number out of an answer, also where the device echoes what it is sent.
func number(line string) (int, bool) {
	for _, q := range echoes {
		if i := strings.LastIndex(line, q); i >= 0 {
			line = line[i+len(q):]
		}
	}
	n, err := strconv.Atoi(clean(line))
	return n, err == nil && n >= 0
}

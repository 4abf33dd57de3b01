package talk

import (
	"bytes"
	"errors"
)

// errLost is a controller that answers its lines and has not answered all: some never reached it whole.
var errLost = errors.New("lines were lost")

// countLines counts what was written, for a controller that answers lines under a habit that does not wait for
// the answers. What is lost by a wrong habit spoils the cut, and the machine stands idle all the same.
func (s *session) countLines(p []byte) { s.lines += bytes.Count(p, []byte("\n")) }

// linesAnew begins the count again, after a reset that has emptied the machine.
func (s *session) linesAnew() { s.lines, s.says.oks = 0, 0 }

// lost tells whether the controller answered fewer lines than it was sent. One that never answers does not
// tell; where the habit itself waits for the answers it has counted them already.
func (c controller) lost() error {
	if c.acks() || c.says.oks == 0 || c.says.oks >= c.lines {
		return nil
	}
	return faultf(errLost, "", "the machine answered %d of %d lines, so lines were lost on the way and what it cut is in doubt: flow: %s in the workroom file does not hold them back for it; a machine that answers each line wants line-ack",
		c.says.oks, c.lines, c.prof.Port.Flow)
}

// inDoubt tells whether nothing that was called sure holds any more.
func (s *session) inDoubt(err error) bool {
	return s.wasReset || errors.Is(err, ErrReset) || errors.Is(err, errLost)
}

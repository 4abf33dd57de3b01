package web

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"time"
)

// stallLimit is how long a body may stand still before it is ended, because it may hold a place for which others wait.
// After twice that time it must have come at slowRate bytes/s at least, so that a trickle does not hold the place either.
const (
	stallLimit = 10 * time.Second
	slowRate   = 32 << 10
)

// movingBody is the body of a request that must keep coming: each byte extends the time limit. There is no limit for the
// answer to a body that was read whole.
type movingBody struct {
	io.ReadCloser
	control *http.ResponseController
	stall   time.Duration
	begun   time.Time
	came    int64
}

// moving gives a request a body that ends with an error when no more bytes come.
func moving(w http.ResponseWriter, r *http.Request, stall time.Duration) error {
	if r.Body == nil || r.Body == http.NoBody {
		return nil
	}
	b := &movingBody{ReadCloser: r.Body, control: http.NewResponseController(w), stall: stall, begun: time.Now()}
	r.Body = b
	return b.wait() // also for what the server reads after a handler has ended
}

// wait sets the time until which the next byte must come.
func (b *movingBody) wait() error {
	until := time.Now().Add(b.stall)
	if end := b.begun.Add(2*b.stall + time.Duration(b.came)*time.Second/slowRate); end.Before(until) {
		until = end
	}
	return b.control.SetReadDeadline(until)
}

func (b *movingBody) Read(p []byte) (int, error) {
	n, err := b.ReadCloser.Read(p)
	b.came += int64(n)
	if errors.Is(err, io.EOF) {
		_ = b.control.SetReadDeadline(time.Time{}) // otherwise the limit would end the answer
	} else if err == nil {
		err = b.wait()
	}
	return n, err
}

// BodyFault says why a body that may hold up to limit bytes could not be read, and the status of the answer.
func BodyFault(err error, limit int64) (status int, text string) {
	large := new(http.MaxBytesError)
	switch {
	case errors.Is(err, os.ErrDeadlineExceeded):
		return http.StatusRequestTimeout, fmt.Sprintf("it came too slowly, or nothing came for %.0f s, so it was ended and nothing was done: others wait for the place. Try again where the network is better", stallLimit.Seconds())
	case errors.As(err, &large):
		return http.StatusRequestEntityTooLarge, fmt.Sprintf("it is larger than %s", size(limit))
	}
	return http.StatusBadRequest, "it came only in part: try again"
}

func size(n int64) string {
	if n >= 1<<20 {
		return fmt.Sprintf("%d MB", n>>20)
	}
	return fmt.Sprintf("%d kB", n>>10)
}

package remote

import (
	"errors"
	"fmt"
	"path/filepath"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/places"
	"tracewheel/pipeline/store"
)

// The socket speaks JSON, one object a line. A request names what is to be done.
type request struct {
	Do  string `json:"do"`
	Job int64  `json:"job,omitempty"`
	// Who is what the person calls themselves: said, never known.
	Who     string               `json:"who,omitempty"`
	From    string               `json:"from,omitempty"`
	How     string               `json:"how,omitempty"`
	Pieces  string               `json:"pieces,omitempty"`
	Cloth   string               `json:"cloth,omitempty"`
	Browser int                  `json:"browser,omitempty"`
	Said    control.Confirmation `json:"said,omitempty"`
	Answers map[string]string    `json:"answers,omitempty"`
	// Lay is the sum of the lay that was shown, Seconds how long a better one is sought.
	Lay     string  `json:"lay,omitempty"`
	Seconds float64 `json:"seconds,omitempty"`
	// Remnant is where a released job is laid; Stock is what is said of the stock.
	Remnant string             `json:"remnant,omitempty"`
	Stock   *control.StockWish `json:"stock,omitempty"`
	reading
}

// The requests.
const (
	doHold    = "hold"
	doRelease = "release"
	doCancel  = "cancel"
	doPause   = "pause"
	doNext    = "next"
	doResume  = "resume"
	doAgain   = "again"
	doWhole   = "whole"
	doSpoilt  = "spoilt"
	doToolUp  = "tool-up"
	doBetter  = "better"
	doPoints  = "points"
	doNow     = "now"
	doChanged = "changed"
	doToStock = "to-stock"
)

type answer struct {
	OK     bool                 `json:"ok"`
	Error  string               `json:"error,omitempty"`
	Hint   string               `json:"hint,omitempty"`
	NoJob  bool                 `json:"no_job,omitempty"`
	Refuse bool                 `json:"refused,omitempty"`
	Job    int64                `json:"job,omitempty"`
	Page   string               `json:"page,omitempty"`
	Called string               `json:"called,omitempty"`
	Points []places.Point       `json:"points,omitempty"`
	Say    control.Confirmation `json:"say,omitempty"`
	Lies   string               `json:"lies,omitempty"`
	Now    []control.Progress   `json:"now,omitempty"`
	Read   *read                `json:"read,omitempty"`
	Stock  control.StockTaken   `json:"stock,omitzero"`
}

// read is what was read, never nil.
func (a answer) read() *read {
	if a.Read == nil {
		return &read{}
	}
	return a.Read
}

// failed makes an answer of an error.
func failed(err error) answer {
	if errors.Is(err, ledger.ErrFull) || errors.Is(err, store.ErrFull) {
		err = fmt.Errorf("it was not written down, so say it again once there is room: %w", err)
	}
	a := answer{Error: err.Error(), NoJob: errors.Is(err, ledger.ErrNoJob), Refuse: errors.Is(err, ledger.ErrState)}
	var r *control.Refusal
	if errors.As(err, &r) {
		a.Refuse = !a.NoJob
		a.Hint, a.Points, a.Say, a.Lies = r.Hint, r.Points, r.Say, r.Lies
	}
	return a
}

// err makes an error of an answer again, at the client.
func (a answer) err() error {
	switch {
	case a.OK:
		return nil
	case a.NoJob:
		return &control.Refusal{Text: a.Error, Hint: a.Hint, Cause: ledger.ErrNoJob}
	case a.Refuse:
		return &control.Refusal{Text: a.Error, Hint: a.Hint, Points: a.Points, Say: a.Say, Lies: a.Lies, Cause: ledger.ErrState}
	}
	return errors.New(a.Error)
}

// socketDir is a folder of its own that only the owner may enter: the socket is never open to
// others, not even between its making and the setting of its rights.
func socketDir(store string) string { return filepath.Join(store, "control") }

const socketName = "socket"

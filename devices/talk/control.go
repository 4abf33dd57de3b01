package talk

import (
	"errors"
	"sync"
)

// What a person says of the sheet, as the error that ends the waiting for it.
var (
	errWhole  = errors.New("a person says that it is whole")
	errSpoilt = errors.New("a person says that it is spoilt")
)

// Control carries the wishes of people to a running sending. Its methods never block, may be called
// from any goroutine, and also before the sending begins. The zero value is not ready: NewControl.
type Control struct {
	mu     sync.Mutex
	pause  bool
	cancel bool
	fresh  int
	sheet  *bool // what a person says of the sheet: whole or spoilt
	wake   chan struct{}
}

// NewControl gives a control for one sending.
func NewControl() *Control { return &Control{wake: make(chan struct{}, 1)} }

// Pause stops a pen at the end of its stroke, lifted, and holds a knife at once and lifts it.
func (c *Control) Pause() { c.wish(func() { c.pause = true }) }

// Resume goes on after Pause. For a knife it says that a person has seen that nothing has shifted.
func (c *Control) Resume() { c.wish(func() { c.pause = false }) }

// Cancel ends the sending: nothing more is written, the abort is sent, the tool goes up.
func (c *Control) Cancel() { c.wish(func() { c.cancel = true }) }

// FreshSheet says that a fresh sheet lies. It counts only while one is waited for.
func (c *Control) FreshSheet() { c.wish(func() { c.fresh++ }) }

// Sheet is a person's word for a device that does not say whether all is drawn: the sheet, or what was
// cut, is whole, or it is spoilt. It counts only while Progress.Ending is told.
func (c *Control) Sheet(whole bool) { c.wish(func() { c.sheet = &whole }) }

func (c *Control) wish(f func()) {
	c.mu.Lock()
	f()
	c.mu.Unlock()
	select {
	case c.wake <- struct{}{}:
	default:
	}
}

// Canceled tells whether a cancel was wished.
func (c *Control) Canceled() bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.cancel
}

func (c *Control) paused() bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.pause
}

// forgetFresh drops what was said before anybody was asked.
func (c *Control) forgetFresh() {
	c.mu.Lock()
	c.fresh = 0
	c.mu.Unlock()
}

// forgetSheet drops what was said of a sheet before anybody was asked.
func (c *Control) forgetSheet() {
	c.mu.Lock()
	c.sheet = nil
	c.mu.Unlock()
}

// sheetIs is nil until a person has said how the sheet is.
func (c *Control) sheetIs() error {
	c.mu.Lock()
	defer c.mu.Unlock()
	switch {
	case c.sheet == nil:
		return nil
	case *c.sheet:
		return errWhole
	}
	return errSpoilt
}

func (c *Control) isFresh() bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.fresh > 0
}

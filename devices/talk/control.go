package talk

import (
	"errors"
	"sync"
)

// What a person says of the sheet, as the errors that end the wait for it.
var (
	errWhole  = errors.New("a person says that it is whole")
	errSpoilt = errors.New("a person says that it is spoilt")
)

// Control takes people's wishes to a running sending. Its methods never block, may be called from any goroutine, and also
// before the sending begins. NewControl makes one; the zero value cannot be used.
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

// Resume goes on after Pause. For a knife it means that a person has confirmed that nothing has shifted.
func (c *Control) Resume() { c.wish(func() { c.pause = false }) }

// Cancel ends the sending: no more of the program is written, the abort is sent, and the tool is lifted.
func (c *Control) Cancel() { c.wish(func() { c.cancel = true }) }

// FreshSheet says that a fresh sheet is in place. It has an effect only while one is waited for.
func (c *Control) FreshSheet() { c.wish(func() { c.fresh++ }) }

// Sheet says that the sheet or the cut is whole, or that it is spoilt, for a device that cannot tell. It has an effect
// only while Progress.Ending is true.
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

// Canceled tells whether Cancel was called.
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

// forgetFresh drops a FreshSheet that came before the wait for one.
func (c *Control) forgetFresh() {
	c.mu.Lock()
	c.fresh = 0
	c.mu.Unlock()
}

// forgetSheet drops a Sheet that came before the question for it.
func (c *Control) forgetSheet() {
	c.mu.Lock()
	c.sheet = nil
	c.mu.Unlock()
}

// sheetIs gives what a person said of the sheet, nil before that.
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

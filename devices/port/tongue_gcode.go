package port

import (
	"bytes"
	"errors"
	"time"

	"tracewheel/devices"
)

// controller speaks RS-274 lines to a machine that acknowledges them, or to one that does not.
type controller struct{ *session }

// controllerSays is what a controller has said so far.
type controllerSays struct {
	status  report
	reports int
	resets  int
	oks     int    // answers to lines that the habit did not wait for
	refused string // the last such refusal
	alarm   string
	asked   time.Time // when the status byte was last sent
}

// acks tells whether the controller answers each line.
func (c controller) acks() bool {
	f := c.prof.Port.Flow
	return f == devices.FlowLineAck || f == devices.FlowLineWin
}

func (c controller) heard(e event, answered bool) {
	s := &c.says
	switch e.kind {
	case evOk:
		if !answered {
			c.extraOk(e)
		}
	case evError:
		s.refused = e.text
		c.refuse(e)
	case evAlarm:
		s.alarm = e.text
		code := codeOf(e.text, c.dia.Alarm)
		c.complain(faultf(errAlarm, printable(e.text), "the machine is locked, %s: %s", printable(e.text), meaning(alarms, code)))
	case evReset:
		s.resets++
		c.complain(faultf(ErrReset, printable(e.text), "the machine was reset in the middle of the job and its position is in doubt; look at tool and cloth, home it, and begin again from a place that you know"))
	case evStatus:
		c.hearStatus(e)
	case evNote, evLine:
		c.words = e.text
	}
}

var errAlarm = errors.New("the machine is locked")

func (c controller) extraOk(e event) {
	c.says.oks++
	if _, counts := c.flow.(*lineAck); counts {
		c.complain(faultf(ErrRefused, printable(e.text), "the machine acknowledged more lines than it was sent: answers are doubled or the line is disturbed, so what it has taken is in doubt"))
	}
}

func (c controller) refuse(e event) {
	code := codeOf(e.text, c.dia.Error)
	c.complain(faultf(ErrRefused, printable(e.text), "the machine refused a line, %s: %s", printable(e.text), meaning(refusals, code)))
}

// complain keeps the first trouble; what follows it mostly comes of it.
func (c controller) complain(f *Fault) {
	if c.trouble == nil && !c.halting {
		c.trouble = f
	}
}

func (c controller) hearStatus(e event) {
	r, ok := parseReport(e.text)
	if !ok {
		return
	}
	s := &c.says
	if r.place != nil && r.place.Machine && s.status.offset != nil && r.offset == nil {
		r.offset = s.status.offset // told now and then only
	}
	s.status, s.reports = r, s.reports+1
	switch {
	case r.held():
		c.moved = time.Now()
		if !c.halting && c.waiting == "" {
			c.waitFor("the machine: it says "+r.state, false)
		}
	case r.moving():
		c.moved = time.Now()
	case r.base() == "Alarm":
		c.complain(faultf(errAlarm, printable(e.text), "the machine is locked after an alarm: see what hit what, then home or unlock it at the machine"))
	}
}

// begin waits for the greeting of a board that starts anew when its port is opened, or else makes
// sure that somebody answers.
func (c controller) begin() error {
	c.halting = true // whatever is said now is not about this job
	defer func() { c.halting = false }()
	if wait := c.prof.Port.StartWait; wait > 0 {
		if err := c.until(func() bool { return c.says.resets > 0 }, seconds(wait)); err != nil && !errors.Is(err, devices.ErrWait) {
			return err
		}
	}
	if err := c.quiet(50 * time.Millisecond); err != nil {
		return err
	}
	c.ear.forget()
	if c.prof.Port.Silent || c.dia.Status == 0 || !c.acks() {
		return nil
	}
	err := c.report(min(5*time.Second, seconds(c.prof.Port.Stall)))
	switch {
	case errors.Is(err, devices.ErrWait):
		return faultf(ErrStall, c.lastWords(), "nothing answers on port %s: is the machine on, and are baud and cable right?", c.line.Name())
	case err != nil:
		return err
	case c.says.status.base() == "Alarm":
		return faultf(errAlarm, c.says.status.state, "the machine is locked after an alarm: home or unlock it at the machine first")
	}
	return c.countsRight()
}

// countsRight sends one empty line before lines are counted: it must earn one answer. Where answers
// are doubled, as by a converter that makes two line ends of one, counting would overrun the buffer
// without either side noticing.
func (c controller) countsRight() error {
	if c.prof.Port.Flow != devices.FlowLineWin || c.says.status.held() {
		return nil
	}
	c.says.oks = 0
	if err := c.put([]byte("\n"), time.Second); err != nil {
		return c.stallError(err)
	}
	err := c.until(func() bool { return c.says.oks > 0 }, min(5*time.Second, seconds(c.prof.Port.Stall)))
	if err == nil {
		err = c.quiet(100 * time.Millisecond)
	}
	if (err == nil || errors.Is(err, devices.ErrWait)) && c.says.oks != 1 {
		return faultf(ErrRefused, c.lastWords(), "an empty line earned %d answers, not 1, so lines cannot be counted on port %s; use flow line-ack", c.says.oks, c.line.Name())
	}
	return err
}

// quiet listens for a while; wishes end it.
func (c controller) quiet(d time.Duration) error {
	err := c.until(func() bool { return false }, d)
	if errors.Is(err, devices.ErrWait) {
		return nil
	}
	return err
}

// until listens until something has come, devices.ErrWait after limit. A cancel ends it unless the
// sending is over already.
func (c controller) until(come func() bool, limit time.Duration) error {
	end := time.Now().Add(limit)
	for !come() {
		if !time.Now().Before(end) {
			return devices.ErrWait
		}
		if err := c.listen(minTime(end, time.Now().Add(waitSlice))); err != nil {
			return err
		}
		if !c.over && c.ctl.canceled() {
			return errCanceled
		}
		if !c.over && c.ctx.Err() != nil {
			return faultf(c.ctx.Err(), "", "the program was asked to end")
		}
	}
	return nil
}

func minTime(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}

// report asks for a fresh status, again and again since one may be lost.
func (c controller) report(limit time.Duration) error {
	end := time.Now().Add(limit)
	for have := c.says.reports; ; {
		if err := c.realTime(c.dia.Status); err != nil {
			return err
		}
		err := c.until(func() bool { return c.says.reports > have }, min(500*time.Millisecond, time.Until(end)))
		if !errors.Is(err, devices.ErrWait) || !time.Now().Before(end) {
			return err
		}
	}
}

// realTime sends one byte that acts at once.
func (c controller) realTime(b byte) error {
	c.says.asked = time.Now()
	return c.put([]byte{b}, 400*time.Millisecond)
}

func (c controller) probeEvery(time.Duration) time.Duration { return c.dia.StatusEvery }

// probe asks for the status: a machine that moves may keep an answer back for minutes.
func (c controller) probe() error {
	if c.dia.Status == 0 || c.prof.Port.Silent {
		return nil
	}
	err := c.realTime(c.dia.Status)
	if errors.Is(err, devices.ErrWait) {
		return nil
	}
	return err
}

// confirm asks until the machine has twice said that it stands idle; once may be just before a
// move begins.
func (c controller) confirm(limit time.Duration) error {
	if c.dia.Status == 0 {
		return nil
	}
	quiet, idle, have := time.Now(), 0, c.says.reports
	for idle < 2 {
		if err := c.holdKnife(); err != nil {
			return err
		}
		if err := c.realTime(c.dia.Status); err != nil {
			return c.stallError(err)
		}
		if err := c.sleep(200 * time.Millisecond); err != nil {
			return err
		}
		if c.says.reports > have {
			have, quiet = c.says.reports, time.Now()
			if b := c.says.status.base(); b == "Idle" || b == "Check" {
				idle++
			} else {
				idle = 0
			}
		}
		if time.Since(quiet) > limit {
			return faultf(ErrUnconfirmed, c.lastWords(), "everything was sent, but the machine has not said that it stands idle; look at it. For a machine that never answers, set silent: true")
		}
	}
	return nil
}

func (c controller) watch() error { return nil } // each line's answer tells

func (c controller) settled() error { return nil } // a reset shows by its greeting

func (c controller) lift() error {
	for _, l := range c.prof.Gantry.PenUp {
		if err := c.extra([]byte(l + "\n")); err != nil {
			return err
		}
	}
	return nil
}

func (c controller) holds() bool { return c.dia.Hold != 0 && c.dia.Reset != 0 && c.dia.Status != 0 }

// hold stops the machine on its path, waits until it stands, empties it by a reset - which keeps
// the place when nothing moves - and lifts the tool.
func (c controller) hold() (*Place, error) {
	place, err := c.stand()
	if err != nil {
		return nil, faultf(err, c.lastWords(), "the machine did not come to rest when it was held; use its own stop and look at the tool")
	}
	if tool, err := c.raise(); tool != ToolUp {
		if err == nil {
			err = ErrRefused
		}
		return nil, faultf(err, printable(c.says.refused), "the machine was held, but did not confirm that the blade is lifted; look at it before you do anything else")
	}
	return place, nil
}

// stand holds and waits until a status says that nothing moves.
func (c controller) stand() (*Place, error) {
	if err := c.realTime(c.dia.Hold); err != nil {
		return nil, err
	}
	for end := time.Now().Add(5 * time.Second); time.Now().Before(end); {
		if err := c.report(time.Second); err != nil && !errors.Is(err, devices.ErrWait) {
			return nil, err
		}
		if c.says.status.atRest() {
			return c.says.status.work(), nil
		}
		if c.says.status.base() == "Alarm" {
			return nil, errAlarm
		}
		if err := c.quiet(50 * time.Millisecond); err != nil {
			return nil, err
		}
	}
	return nil, devices.ErrWait
}

// raise resets a machine that stands, and sends the lines that lift the tool, each confirmed.
func (c controller) raise() (Tool, error) {
	resets := c.says.resets
	if err := c.realTime(c.dia.Reset); err != nil {
		return ToolUnknown, err
	}
	start := max(3*time.Second, seconds(c.prof.Port.StartWait))
	if err := c.until(func() bool { return c.says.resets > resets }, start); err != nil {
		return ToolUnknown, err
	}
	if err := c.report(time.Second); err != nil || c.says.status.base() == "Alarm" {
		return ToolUnknown, err
	}
	for _, l := range bytes.SplitAfter(c.prog.Abort, []byte("\n")) {
		if len(bytes.TrimSpace(l)) == 0 {
			continue
		}
		if err := c.oneLine(l); err != nil {
			return ToolUnknown, err
		}
	}
	return c.idle()
}

// oneLine sends a line outside the habit and waits for its answer.
func (c controller) oneLine(l []byte) error {
	if !bytes.HasSuffix(l, []byte("\n")) {
		l = append(append([]byte(nil), l...), '\n')
	}
	c.says.oks, c.says.refused = 0, ""
	if err := c.put(l, time.Second); err != nil {
		return err
	}
	if err := c.until(func() bool { return c.says.oks > 0 || c.says.refused != "" }, c.liftLimit()); err != nil {
		return err
	}
	if c.says.refused != "" {
		return ErrRefused
	}
	return nil
}

// idle waits until the lift is done.
func (c controller) idle() (Tool, error) {
	for end := time.Now().Add(c.liftLimit()); time.Now().Before(end); {
		if err := c.report(time.Second); err != nil {
			return ToolUnknown, err
		}
		switch c.says.status.base() {
		case "Idle":
			if len(c.prog.Abort) == 0 {
				return ToolUnknown, nil
			}
			return ToolUp, nil
		case "Alarm":
			return ToolUnknown, errAlarm
		}
		if err := c.quiet(100 * time.Millisecond); err != nil {
			return ToolUnknown, err
		}
	}
	return ToolUnknown, devices.ErrWait
}

// halt stops the machine at once and lifts the tool. After an unasked reset or an alarm nothing is
// moved: the machine no longer knows where it stands.
func (c controller) halt(cause error) (Tool, *Place) {
	c.says.oks, c.says.refused = 0, ""
	_ = c.line.Discard()
	c.override(true)
	if !c.acks() || !c.holds() {
		return c.haltBlind()
	}
	if errors.Is(cause, ErrReset) || errors.Is(cause, errAlarm) {
		return ToolUnknown, nil
	}
	place, err := c.stand()
	if err != nil { // stopping matters more than the place: the reset acts at once
		_ = c.realTime(c.dia.Reset)
		return ToolUnknown, nil
	}
	tool, _ := c.raise()
	return tool, place
}

// haltBlind serves a machine that answers no lines: half a line is ended, then the abort goes out.
func (c controller) haltBlind() (Tool, *Place) {
	_ = c.put(append([]byte("\n"), c.prog.Abort...), 400*time.Millisecond)
	return ToolUnknown, nil
}

package talk

import (
	"bytes"
	"errors"
	"time"

	"tracewheel/devices"
	"tracewheel/devices/flow"
)

func (c controller) lift() error {
	for _, l := range c.prof.Gantry.PenUp {
		if err := c.extra([]byte(l + "\n")); err != nil {
			return err
		}
	}
	return nil
}

func (c controller) holds() bool { return c.dia.Hold != 0 && c.dia.Reset != 0 && c.dia.Status != 0 }

// hold stops the machine on its path, waits until it stands, empties it by a reset, which keeps the place when nothing
// moves, and lifts the tool.
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

// stand sends a hold and waits until a status says that nothing moves.
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
	c.says.expects = true
	defer func() { c.says.expects = false }()
	if err := c.realTime(c.dia.Reset); err != nil {
		return ToolUnknown, err
	}
	start := max(3*time.Second, flow.Seconds(c.prof.Port.StartWait))
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

// oneLine sends a line without the habit and waits for its answer.
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

// halt stops the machine at once and lifts the tool. After a reset that was not asked for, or an alarm, nothing is moved:
// the machine no longer knows where it is.
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
	if err != nil { // stopping is more urgent than the place: the reset acts at once
		c.says.expects = true
		_ = c.realTime(c.dia.Reset)
		return ToolUnknown, nil
	}
	tool, _ := c.raise()
	return tool, place
}

// haltBlind stops a machine that answers no lines: it ends a half-sent line and sends the abort.
func (c controller) haltBlind() (Tool, *Place) {
	_ = c.put(append([]byte("\n"), c.prog.Abort...), 400*time.Millisecond)
	return ToolUnknown, nil
}

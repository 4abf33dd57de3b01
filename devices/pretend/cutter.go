package pretend

import (
	"bytes"
	"cmp"
	"fmt"
	"time"
)

// CutterOptions are what a pretend cutter is like.
type CutterOptions struct {
	// Greeting is printed after power-up and reset.
	Greeting string
	// Buffer is the receive buffer in bytes; 0 is 128. Planner is how many lines it takes in advance
	// of its moves; 0 is 15.
	Buffer, Planner int
	// Rate is how many bytes of lines a second it carries out; 0 is at once.
	Rate float64
	// Faults are how it misbehaves.
	Faults Faults
	// Truth records each line when it is done, and one that a reset cut short as far as it was run, as
	// a line to that place. Without it lines are recorded as they came, when they are begun.
	Truth bool
	// Sink is given what is executed, which then is not kept.
	Sink func([]byte)
}

// defaultGreeting is what a pretend cutter says when it begins.
const defaultGreeting = "Pretend 1.0 ['?' for the state]"

// A controller's states, as its status reports name them.
const (
	stateIdle  = "Idle"
	stateRun   = "Run"
	stateHold  = "Hold:0"
	stateBrake = "Hold:1"
	stateAlarm = "Alarm"
)

// brakeTime is how long it takes to stand after a hold.
const brakeTime = 20 * time.Millisecond

// Cutter is a pretend controller of a knife table: it acknowledges each line, answers single bytes
// at once, and follows the place and the height of its tool without judging what is cut.
type Cutter struct {
	machine
	opt CutterOptions

	rx      []byte   // received and not yet a line
	planner [][]byte // accepted lines, the first being carried out
	begun   bool     // the first line of the planner has been recorded
	left    float64  // bytes of the first line still to be carried out
	state   string
	brake   time.Time // when it stands
	lines   int
	acks    int
	at, to  [3]float64 // where the line being carried out begins and ends
	way     way
	resets  int
}

// NewCutter starts a cutter at the end of a line; it greets at once.
func NewCutter(link Link, opt CutterOptions) *Cutter {
	opt.Greeting = cmp.Or(opt.Greeting, defaultGreeting)
	if opt.Buffer <= 0 {
		opt.Buffer = 128
	}
	if opt.Planner <= 0 {
		opt.Planner = 15
	}
	c := &Cutter{machine: newMachine(link, opt.Faults, opt.Sink), opt: opt, state: stateIdle}
	c.at[2] = 10
	c.to = c.at
	if !opt.Faults.Mute {
		_ = link.Write([]byte("\r\n" + opt.Greeting + "\r\n"))
	}
	go c.run(func() int { return 64 }, c.take, c.work)
	return c
}

// take sorts one byte: those that act at once, and the rest for lines.
func (c *Cutter) take(b byte) {
	if c.f.Echo {
		_ = c.link.Write([]byte{b})
	}
	if c.f.ResetInMiddle > 0 && c.total >= c.f.ResetInMiddle && !c.reset {
		c.reset = true
		c.softReset(false)
		return
	}
	switch b {
	case '?':
		c.report()
	case '!':
		c.stopAt = time.Now()
		c.hold()
	case '~':
		if c.state == stateHold || c.state == stateBrake {
			c.state = stateIdle
		}
	case 0x18:
		c.softReset(true)
	default:
		if len(c.rx) >= c.opt.Buffer {
			c.lost++
			return
		}
		c.rx = append(c.rx, b)
		c.accept()
	}
}

func (c *Cutter) hold() {
	switch {
	case c.state == stateRun || len(c.planner) > 0:
		c.state, c.brake = stateBrake, time.Now().Add(brakeTime)
	case c.state == stateIdle:
		c.state = stateHold
	}
}

// softReset empties everything. While something moves the place is lost, which is an alarm.
func (c *Cutter) softReset(asked bool) {
	moving := c.state == stateBrake || c.state == stateRun
	if c.begun {
		if c.opt.Truth {
			c.execute(c.way.asFar(c.share()))
		}
		c.at = c.way.at(c.share())
	}
	c.rx, c.planner, c.begun, c.left = nil, nil, false, 0
	c.to = c.at
	c.resets++
	if c.state != stateAlarm {
		c.state = stateIdle
	}
	c.say([]byte("\r\n" + c.opt.Greeting + "\r\n"))
	if moving && asked {
		c.state = stateAlarm
		c.say([]byte("ALARM:3\r\n"))
	}
}

func (c *Cutter) report() {
	c.settle(time.Now())
	state, at := c.state, c.place()
	if state == stateIdle && len(c.planner) > 0 {
		state = stateRun
	}
	c.say(fmt.Appendf(nil, "<%s|MPos:%.3f,%.3f,%.3f|Bf:%d,%d|WCO:0.000,0.000,0.000>\r\n", state,
		at[0], at[1], at[2], c.opt.Planner-len(c.planner), c.opt.Buffer-len(c.rx)))
}

// settle ends braking when its time is over.
func (c *Cutter) settle(now time.Time) {
	if c.state == stateBrake && !now.Before(c.brake) {
		c.state = stateHold
	}
}

// accept moves complete lines from the receive buffer to the planner, answering each.
func (c *Cutter) accept() {
	for len(c.planner) < c.opt.Planner && !c.paused {
		i := lineEnd(c.rx)
		if i < 0 {
			return
		}
		line := c.rx[:i+1]
		c.rx = append([]byte(nil), c.rx[i+1:]...)
		c.lines++
		switch {
		case c.state == stateAlarm && string(line) != "$X\n" && string(line) != "$H\n":
			c.say([]byte("error:9\r\n"))
			continue
		case c.state == stateAlarm:
			c.state = stateIdle
		case c.f.ErrorAt == c.lines:
			c.say([]byte("error:20\r\n"))
			continue
		}
		c.planner = append(c.planner, line)
		c.acknowledge()
		c.f.Mute = c.f.Mute || c.f.SilentAtEnd && (string(line) == "M2\n" || string(line) == "M30\n")
		if c.opt.Rate <= 0 {
			c.carryOut(time.Now())
		}
	}
}

func lineEnd(p []byte) int { return bytes.IndexAny(p, "\n\r") }

func (c *Cutter) acknowledge() {
	c.acks++
	switch {
	case c.f.LostAck == c.acks:
	case c.f.DoubleAck > 0 && c.acks >= c.f.DoubleAck:
		c.say([]byte("ok\r\nok\r\n"))
	default:
		c.say([]byte("ok\r\n"))
	}
}

// work carries out what time allows.
func (c *Cutter) work(now time.Time) time.Duration {
	c.settle(now)
	c.carryOut(now)
	c.accept()
	if len(c.planner) == 0 {
		return 50 * time.Millisecond
	}
	if c.state == stateBrake {
		return brakeTime
	}
	if c.opt.Rate <= 0 || c.paused || c.state == stateHold {
		return 50 * time.Millisecond
	}
	return min(50*time.Millisecond, time.Duration(c.left/c.opt.Rate*float64(time.Second))+1)
}

func (c *Cutter) carryOut(now time.Time) {
	allowed := c.allowance(now, c.opt.Rate)
	if c.paused || (c.state != stateIdle && c.state != stateRun) {
		c.credit = 0
		return
	}
	for len(c.planner) > 0 {
		c.state = stateRun
		if !c.begun {
			c.begun, c.left = true, float64(len(c.planner[0]))
			if !c.opt.Truth {
				c.execute(c.planner[0])
			}
			c.way = wayOf(c.at, string(c.planner[0]))
			c.to = c.way.to
		}
		if allowed < c.left {
			c.left -= allowed
			allowed = 0
			break
		}
		allowed -= c.left
		if c.opt.Truth {
			c.execute(c.planner[0])
		}
		c.at, c.begun, c.left = c.to, false, 0
		c.planner = c.planner[1:]
	}
	c.credit = 0
	if len(c.planner) == 0 {
		c.state, c.planner = stateIdle, nil
	}
}

// ToolUp tells where the tool really is, for comparing with what a sender believes: at rest, or
// moving, above the material.
func (c *Cutter) ToolUp() bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.place()[2] > 0 && c.to[2] > 0
}

// Place is where the tool stands, mm.
func (c *Cutter) Place() (x, y, z float64) {
	c.mu.Lock()
	defer c.mu.Unlock()
	at := c.place()
	return at[0], at[1], at[2]
}

// State is what a status report would say.
func (c *Cutter) State() string {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.settle(time.Now())
	return c.state
}

// Resets counts the greetings since the first.
func (c *Cutter) Resets() int {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.resets
}

// PressHold and PressGo are the keys at the machine.
func (c *Cutter) PressHold() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.hold()
}

// PressGo goes on after PressHold.
func (c *Cutter) PressGo() {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.state == stateHold || c.state == stateBrake {
		c.state = stateIdle
	}
}

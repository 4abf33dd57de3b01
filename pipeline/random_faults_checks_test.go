package pipeline

import (
	"bytes"
	"regexp"

	"tracewheel/devices"
	"tracewheel/devices/pretend"
	"tracewheel/pipeline/ledger"
)

// moved waits until the device has about the bytes after which the fault is to come; false where the
// job was done before.
func (x *trial) moved() bool {
	done := false
	x.h.Until("bytes move", func() bool {
		done = x.h.Job(1).State.Ended()
		return done || x.executed() >= x.at
	})
	return !done
}

func (x *trial) executed() int { return len(shortCases[x.name].received(x.port.now)) }

// promises holds what must be true whatever happened.
func (x *trial) promises(j ledger.Job) {
	t := x.t
	jobs, err := x.h.Daemon.Jobs().Jobs(t.Context(), ledger.Filter{})
	if err != nil || len(jobs) != 1 || j.Sends != 1 {
		t.Errorf("%d jobs, sent %d times, %v", len(jobs), j.Sends, err)
	}
	if j.State != ledger.Completed && j.Reason == "" {
		t.Error("it does not say why")
	}
	got := shortCases[x.name].received(x.port.now)
	lossless := x.lossless()
	made, rest := x.begun(got)
	if lossless && rest != "" {
		t.Errorf("behind %d bytes of the program the device got %q; %s", made, rest, j.Reason)
	}
	if j.State == ledger.Completed && lossless && made != x.want.Program.Len() {
		t.Errorf("called done with %d of %d bytes", made, x.want.Program.Len())
	}
	if j.Send.Tool == "up" && !x.toolUp() {
		t.Errorf("the tool is called up, and it is not; %s", j.Reason)
	}
	if j.Send.Sure >= 0 && lossless {
		sure := len(devices.Program{Blocks: x.want.Program.Blocks[:j.Send.Sure+1]}.Bytes())
		if sure > made {
			t.Errorf("block %d is called sure, %d bytes, and %d were made; %s", j.Send.Sure, sure, made, j.Reason)
		}
	}
	if !lossless && x.fault != "refusal" && j.State == ledger.Completed {
		t.Error("called done with bytes lost")
	}
	if x.faults.ResetInMiddle > 0 && j.State == ledger.Stopped && j.Send.Sure >= 0 {
		t.Errorf("after a reset block %d is called sure; %s", j.Send.Sure, j.Reason)
	}
}

// lossless tells whether the device has got all that was sent. A pseudo-terminal holds some thousand
// bytes more than a line does, so that a pretend plotter that the computer leaves no time may run over
// although it said stop; with the other habits it may not.
func (x *trial) lossless() bool {
	p, pen := x.port.now.(*pretend.Plotter)
	return x.faults.ResetInMiddle == 0 && x.faults.ErrorAt == 0 && !(pen && x.flow == "xon-xoff" && p.Lost() > 0)
}

func (x *trial) toolUp() bool {
	if c, ok := x.port.now.(*pretend.Cutter); ok {
		return c.ToolUp()
	}
	return x.port.now.(*pretend.Plotter).PenUp()
}

// partOfLine is a line that a hold cut short, as the pretend cutter writes it.
var partOfLine = regexp.MustCompile(`^G[123] [^\n]* F600\n`)

// begun is how many bytes of the program were made, and what was made behind them that is neither of
// the program nor of a stop.
func (x *trial) begun(got []byte) (made int, rest string) {
	p := x.want.Program
	all, abort := p.Bytes(), p.Abort
	if x.name == "pen" {
		got = bytes.TrimPrefix(got, []byte("\x03;"))
		for _, q := range []string{"OE;", "OS;"} {
			got = bytes.ReplaceAll(got, []byte(q), nil)
		}
		abort = bytes.TrimPrefix(abort, []byte("\x1b.J\x1b.K"))
	} else {
		got = bytes.TrimPrefix(got, []byte("\n"))
	}
	n := 0
	for n < len(got) && n < len(all) && got[n] == all[n] {
		n++
	}
	if x.name == "knife" {
		n = bytes.LastIndexByte(got[:n], '\n') + 1
		if left := partOfLine.ReplaceAll(got[n:], nil); !bytes.HasPrefix(abort, left) {
			return n, string(got[n:])
		}
		return n, ""
	}
	for k := n; k >= 0; k-- { // the abort may begin as the program goes on
		for _, half := range []string{"", "O", "OS", "OE"} { // of a question that was out when the stop came
			if bytes.HasPrefix(abort, bytes.TrimPrefix(got[k:], []byte(half))) {
				return n, ""
			}
		}
	}
	return n, string(got[n:])
}

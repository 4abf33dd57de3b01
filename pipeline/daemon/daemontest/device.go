package daemontest

import (
	"bytes"
	"context"
	"fmt"
	"sync"

	"tracewheel/devices"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
)

// Make makes a program of a text file: every line is one stroke of its own piece. Words in
// the file make it behave otherwise.
func Make(_ context.Context, in job.Draft) (job.Made, error) {
	b := job.Made{Style: "pretend", Pictures: map[string][]byte{"draft.svg": []byte("<svg/>")}}
	switch {
	case len(in.Source) == 0:
		b.Refused, b.Reason = true, "the file is empty"
	case bytes.IndexByte(in.Source, 0) >= 0:
		b.Refused, b.Reason = true, "the file is no text"
	case bytes.Contains(in.Source, []byte("REFUSE")):
		b.Refused = true
		b.Findings = []pattern.Finding{{Rule: "outline-open", Severity: pattern.Error, Piece: "bodice front",
			Message: "the outline is open by 3 mm", Mend: "close it"}}
	case bytes.Contains(in.Source, []byte("PANIC")):
		panic("the pretend builder was told to")
	case bytes.Contains(in.Source, []byte("ASK")) && in.Answers["allowance"] == "":
		b.Hold = "does the outline include the allowance?"
	}
	if b.Refused {
		b.Report = map[string][]byte{"report.html": []byte("<p>" + b.Reason + "</p>")}
		return b, nil
	}
	if b.Hold != "" {
		return b, nil
	}
	b.Program = Program(in.Source)
	b.Pieces = b.Program.Pieces
	return b, nil
}

// Program is what Make gives: a block for each line.
func Program(source []byte) devices.Program {
	p := devices.Program{Language: devices.HPGL, Prelude: 1,
		Blocks: []devices.Block{{Bytes: []byte("IN;"), Stroke: -1, Piece: -1}}}
	for i, line := range bytes.Split(bytes.TrimSpace(source), []byte("\n")) {
		p.Blocks = append(p.Blocks, devices.Block{Bytes: append(line, ';'), Stroke: i, Piece: i / 2, EndsStroke: true, DrawnMM: 100})
		p.Strokes, p.Pieces, p.DrawnMM = i+1, i/2+1, p.DrawnMM+100
	}
	return p
}

// Device takes what is sent to it. Its zero value takes everything at once.
type Device struct {
	mu   sync.Mutex
	got  map[string][]string // device to the sendings, each "job:from:bytes"
	Hold chan struct{}       // while set, a sending waits for it after its first block
	Say  func(in job.Run) *job.Outcome
	// Before is called before the control is handed over.
	Before func(in job.Run)
}

// Sending is one sending; Wake tells of wishes.
type Sending struct {
	Mu               sync.Mutex
	Paused, Canceled bool
	Wake             chan struct{}
}

// Set changes it under its lock and wakes the device.
func (h *Sending) Set(f func()) {
	h.Mu.Lock()
	f()
	h.Mu.Unlock()
	select {
	case h.Wake <- struct{}{}:
	default:
	}
}

// Pause holds it.
func (h *Sending) Pause() { h.Set(func() { h.Paused = true }) }

// Resume lets it go on.
func (h *Sending) Resume() { h.Set(func() { h.Paused = false }) }

// Cancel ends it.
func (h *Sending) Cancel() { h.Set(func() { h.Canceled = true }) }

// FreshSheet does nothing: it has no sheets.
func (h *Sending) FreshSheet() {}

// Sheet does nothing: no sheet of it is in doubt.
func (h *Sending) Sheet(bool) {}

// Look gives what is wished now.
func (h *Sending) Look() (paused, cancel bool) {
	h.Mu.Lock()
	defer h.Mu.Unlock()
	return h.Paused, h.Canceled
}

func (d *Device) send(ctx context.Context, in job.Run) job.Outcome {
	h := &Sending{Wake: make(chan struct{}, 1)}
	if d.Before != nil {
		d.Before(in)
	}
	in.Attach(h)
	if d.Say != nil {
		if out := d.Say(in); out != nil {
			return *out
		}
	}
	rest, _ := in.Program.From(in.From)
	text, out := fmt.Sprintf("%d:%d:", in.Job, in.From), job.Outcome{State: ledger.Completed, ToolUp: true}
	start := len(in.Program.Blocks) - len(rest.Blocks)
	for i, b := range rest.Blocks {
		if stop := d.wait(ctx, in, h, out.Bytes); stop != nil {
			stop.Bytes, stop.SureBlock = out.Bytes, start+i-1
			d.note(in.Device, text)
			return *stop
		}
		text += string(b.Bytes)
		out.Bytes += int64(len(b.Bytes))
		out.SureBlock = start + i
		in.Progress(control.Progress{Bytes: out.Bytes, Total: int64(in.Program.Len()), Stroke: b.Stroke, Piece: b.Piece, Sure: b.Stroke, SureBlock: out.SureBlock})
		if i == 1 && d.Hold != nil {
			select {
			case <-d.Hold:
			case <-h.Wake:
			case <-ctx.Done():
			}
		}
	}
	d.note(in.Device, text)
	return out
}

// wait meets wishes; it returns an outcome where the sending is to end.
func (d *Device) wait(ctx context.Context, in job.Run, h *Sending, sent int64) *job.Outcome {
	for {
		paused, cancel := h.Look()
		switch {
		case cancel:
			return &job.Outcome{State: ledger.Canceled, Reason: "canceled by a person", ToolUp: true}
		case ctx.Err() != nil:
			return &job.Outcome{State: ledger.Stopped, Reason: "the daemon was stopped", ToolUp: true}
		case !paused:
			return nil
		}
		in.Progress(control.Progress{Bytes: sent, Sure: -1, Waiting: "paused by a person", Person: true})
		select {
		case <-h.Wake:
		case <-ctx.Done():
		}
	}
}

func (d *Device) note(device, text string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.got == nil {
		d.got = map[string][]string{}
	}
	d.got[device] = append(d.got[device], text)
}

func (d *Device) Sendings(device string) []string {
	d.mu.Lock()
	defer d.mu.Unlock()
	return append([]string(nil), d.got[device]...)
}

// SixStrokes are three pieces of two strokes each.
const SixStrokes = "s0\ns1\ns2\ns3\ns4\ns5"

// Package machines gives the state of each device of a workroom. It takes a workroom, and gives what the daemon sends to a
// device, which job is stopped on it and what the device answers; and which devices have the same port.
package machines

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/devices/port"
	"tracewheel/devices/talk"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/remote"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/reading"
	"tracewheel/pipeline/testsquare"
)

// State is one device as `devices` prints it.
type State struct {
	Name     string           `json:"name"`
	Kind     devices.Kind     `json:"kind"`
	Language devices.Language `json:"language"`
	Port     string           `json:"port"`
	State    string           `json:"state"`
	Detail   string           `json:"detail,omitempty"`
	Width    float64          `json:"width_mm"`
	// Length is 0 for a roll.
	Length      float64  `json:"length_mm"`
	BladeOffset *float64 `json:"blade_offset_mm,omitempty"`
	CutZ        *float64 `json:"cut_z_mm,omitempty"`
	SwivelZ     *float64 `json:"swivel_z_mm,omitempty"`
	SafeZ       *float64 `json:"safe_z_mm,omitempty"`
	Calibration string   `json:"calibration"`
	// Paper is what a sheet printer prints on.
	Paper string `json:"paper,omitempty"`
	// NeedsCalibration is true where none is in force or it is too old.
	NeedsCalibration bool `json:"needs_calibration"`
	// Job is the one that is being sent to it or is stopped on it, 0 for none.
	Job int64 `json:"job,omitempty"`
	// Tool is how far its pen or blade has drawn since it was changed, nil where nothing is known.
	Tool *ledger.Tool `json:"tool,omitempty"`
	// Untaken are the files in its folder of the inbox that become no job.
	Untaken []ledger.Untaken `json:"untaken,omitempty"`
}

// States gives the state of each device of a workroom. For a device to which a job is being sent the daemon tells it, and
// its port is left alone; the ports of the others are opened for a moment, all at once, and the device is asked where its
// language has a question for it. A job that begins meanwhile waits for that.
func States(ctx context.Context, room *config.Workroom) []State {
	names := room.DeviceNames()
	out := make([]State, len(names))
	live, left := jobsOnDevices(ctx, room)
	var all sync.WaitGroup
	for i, name := range names {
		out[i] = Facts(room, name)
		all.Go(func() {
			d := &out[i]
			if p, sent := live[name]; sent {
				d.sending(p)
				return
			}
			if d.Kind.Prints() {
				d.printing(ctx, room, left)
				return
			}
			if other := Shared(room, name, realPlaces); other != "" {
				d.State, d.Detail = string(talk.Failed), SharedWords(room, name, other)
				return
			}
			profile, _ := room.On(name, "")
			st := talk.Look(ctx, profile)
			d.State, d.Detail = string(st.State), st.Text
			if j, is := left[name]; is {
				d.Job = j.ID
				d.Detail += "; " + leftWords(j)
			}
		})
	}
	all.Wait()
	return out
}

// Facts is what is known without asking the device.
func Facts(room *config.Workroom, name string) State {
	p, _ := room.On(name, "")
	p = testsquare.SettingOf(room, name, time.Now()).On(p)
	d := State{Name: name, Kind: p.Kind, Language: p.Language, Port: p.Port.Path,
		Width: p.Width, Length: p.Length}
	d.Calibration, d.NeedsCalibration = testsquare.Age(room, name)
	d.Port = cmp.Or(d.Port, p.Port.Identity)
	if p.Kind.Prints() {
		d.Paper, d.Port = p.Sheets.Paper, "folder "+room.Folders.Made
		if p.Sheets.Output == devices.ToQueue {
			d.Port = "queue " + p.Sheets.Queue
		}
	}
	if p.Kind.Cuts() {
		b := p.Blade
		d.BladeOffset, d.CutZ, d.SwivelZ, d.SafeZ = &b.Offset, &b.CutZ, &b.SwivelZ, &b.SafeZ
	}
	return d
}

// Reach says what a device reaches, in the workroom's unit.
func (d State) Reach(unit string) string {
	across := pattern.Length(d.Width, cmp.Or(unit, "mm"))
	switch {
	case d.Paper != "":
		return d.Paper
	case d.Length > 0:
		return pattern.SayLength(d.Length, unit) + " by " + across
	}
	return across + " roll"
}

// Known is the state of a device as far as the daemon knows it without asking the device: what is sent, and the job that
// is stopped on it, nil for none. Its port is not opened.
func Known(room *config.Workroom, name string, sent []control.Progress, stopped *ledger.Job) State {
	d := Facts(room, name)
	for _, p := range sent {
		if p.Device == name {
			d.sending(p)
			return d
		}
	}
	if !d.Kind.Prints() {
		if other := Shared(room, name, realPlaces); other != "" {
			d.State, d.Detail = string(talk.Failed), SharedWords(room, name, other)
			return d
		}
	}
	if stopped != nil {
		d.Job, d.State, d.Detail = stopped.ID, string(talk.Paused), leftWords(*stopped)
		return d
	}
	d.State, d.Detail = "nothing is sent to it", "`tracewheel devices` asks the device itself"
	return d
}

// sending sets the state of a device to which a job is being sent.
func (d *State) sending(p control.Progress) {
	d.Job, d.State = p.Job, string(talk.Busy)
	d.Detail = fmt.Sprintf("job %d is being sent", p.Job)
	if p.Total > 0 {
		d.Detail = fmt.Sprintf("job %d, %d %% sent", p.Job, 100*p.Bytes/p.Total)
	}
	if p.Remark != "" {
		d.Detail += "; " + p.Remark
	}
	if p.Waiting == "" {
		return
	}
	if p.Person || p.Held {
		d.State = string(talk.Paused)
	}
	if p.Person {
		d.Detail += "; waits for a person: " + p.Waiting
	} else {
		d.Detail += "; waits for " + p.Waiting
	}
}

// leftWords say of a job that it is neither sent nor ended. The tool may be in the cloth although the machine says that it
// is ready.
func leftWords(j ledger.Job) string {
	if j.State == ledger.Stopped {
		return fmt.Sprintf("job %d stands stopped on it, and the others wait: tracewheel show %d", j.ID, j.ID)
	}
	return fmt.Sprintf("job %d was being sent when the program ended, and whether the tool is up is unknown: see to the machine, then start `tracewheel run`", j.ID)
}

// jobsOnDevices gives, by device, the jobs that a running daemon is sending, and those that are stopped or were
// interrupted when a daemon ended.
func jobsOnDevices(ctx context.Context, room *config.Workroom) (live map[string]control.Progress, left map[string]ledger.Job) {
	live, left = map[string]control.Progress{}, map[string]ledger.Job{}
	ctx, cancel := context.WithTimeout(ctx, 2*time.Second)
	defer cancel()
	wanted := []ledger.State{ledger.Stopped}
	c, err := remote.Dial(ctx, room.Path(room.Folders.Store))
	if err == nil {
		now, err := c.Now(ctx)
		for _, p := range now {
			live[p.Device] = p
		}
		_ = errors.Join(err, c.Close()) // a daemon that hangs up counts as none
	} else if errors.Is(err, remote.ErrNoDaemon) {
		wanted = append(wanted, ledger.Processing)
	}
	led, err := reading.Look(ctx, room)
	if err != nil {
		return live, left
	}
	defer led.Close() //nolint:errcheck // only read
	for _, device := range room.DeviceNames() {
		for _, state := range wanted { // one at a time, which the ledger's index answers at once
			jobs, _ := led.Jobs(ctx, ledger.Filter{Device: device, States: []ledger.State{state}, Newest: true, Limit: 1, Faulty: true})
			for _, j := range jobs { // what can be read of it counts
				if j.ID > left[device].ID {
					left[device] = j
				}
			}
		}
	}
	return live, left
}

// Ports lists the serial ports of this computer, a line each, with the identities by which they are found again under
// another name; none where the system does not tell.
func Ports() []string {
	ports, err := port.List()
	if err != nil {
		return nil
	}
	var out []string
	for _, p := range ports {
		line := "port " + p.Path
		if p.Identity != "" {
			line += fmt.Sprintf(", identity: %q", p.Identity)
		}
		if p.Text != "" {
			line += fmt.Sprintf(" (%s)", p.Text)
		}
		out = append(out, line)
	}
	return out
}

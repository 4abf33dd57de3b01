package pipeline

import (
	"os"
	"os/exec"
	"path/filepath"
	"time"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/remote"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/reading"
)

// killed lets a daemon in a process of its own send the job, kills it in the middle, and starts one here
// that finds what it left.
func (x *trial) killed() {
	t := x.t
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), faultChild+"="+x.room.File)
	cmd.Stderr = os.Stderr
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	x.h.DropWhole(x.device, "cuff.svg", faultDraft)
	end := time.Now().Add(x.h.Patience)
	released := x.name == "pen"
	for n := 1; x.executed() < x.at && time.Now().Before(end); n++ {
		time.Sleep(2 * time.Millisecond)
		if n%20 == 0 && !released {
			released = x.release()
		}
		if n%100 == 0 && x.ended() {
			break
		}
	}
	_ = cmd.Process.Kill()
	_ = cmd.Wait()
	_ = in.Close()
	n := x.executed()
	x.h.Start()
	time.Sleep(200 * time.Millisecond)
	if x.h.Job(1).State == ledger.Processing {
		t.Errorf("it is sent again unasked, from %d bytes on", n)
	}
}

// release lets a cutter's job go through the other process's socket.
func (x *trial) release() bool {
	c, err := remote.Dial(x.t.Context(), x.h.Settings.Store)
	if err != nil {
		return false // it does not listen yet
	}
	defer c.Close() //nolint:errcheck // the answer has come
	return c.Release(x.t.Context(), 1, nil, control.BedClear) == nil
}

// ended tells by the ledger whether the other process has finished the job.
func (x *trial) ended() bool {
	led, err := reading.Ledger(x.t.Context(), x.room)
	if err != nil {
		return false
	}
	defer led.Close() //nolint:errcheck // only read
	j, err := led.Job(x.t.Context(), 1)
	return err == nil && j.State.Ended()
}

// fillDisk fills a small disk of its own while bytes move, and makes room again. Only root can have such
// a disk; elsewhere the trial is one without a fault.
func (x *trial) fillDisk() {
	if !x.small {
		return
	}
	if !x.moved() {
		return
	}
	file := filepath.Join(filepath.Dir(x.h.Settings.Store), "filler")
	fill, err := os.Create(file)
	if err != nil {
		x.t.Fatal(err)
	}
	chunk := make([]byte, 4096)
	for err == nil {
		_, err = fill.Write(chunk)
	}
	_ = fill.Close()
	time.Sleep(time.Duration(x.rng.IntN(400)) * time.Millisecond)
	if err := os.Remove(file); err != nil {
		x.t.Error(err)
	}
}

// smallDisk puts a disk of a few megabytes on a folder, and tells whether it could.
func (x *trial) smallDisk(dir string) bool {
	undo, ok := mountSmall(dir)
	if !ok {
		return false
	}
	x.t.Cleanup(func() {
		if err := undo(); err != nil {
			x.t.Error(err)
		}
	})
	return true
}

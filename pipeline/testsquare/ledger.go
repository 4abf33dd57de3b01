package testsquare

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"tracewheel/config"
	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/reading"
)

// Unlikely says why a test square is probably not the one that was measured, "" for nothing: its file is still in the
// inbox, the ledger does not have it as drawn, or it was ordered so long ago that the device may have changed since.
func (o Order) Unlikely(ctx context.Context, room *config.Workroom, now time.Time) (string, error) {
	if o.Paper != "" {
		return "", nil // a printer's sheet, which is not ordered
	}
	if lasts := room.Calibration.D(); lasts > 0 && now.Sub(o.At) > lasts {
		return fmt.Sprintf("test square %d was sent for on %s, and the device may have changed since: plot a new one", o.No, day(o.At)), nil
	}
	if _, err := os.Stat(filepath.Join(room.Path(room.Folders.Inbox), o.Device, o.fileName())); err == nil {
		return fmt.Sprintf("the file of test square %d still lies in its inbox, so that the daemon has not drawn it: was another one measured (--plot), or was it sent another way?", o.No), nil
	}
	text := fmt.Sprintf("test square %d was not taken from its inbox yet, so that nothing tells of its being drawn: is the daemon running, or was another one measured (--plot)?", o.No)
	if keep := room.KeepDrafts.D(); keep > 0 && now.Sub(o.At) > keep {
		text = "" // its record may have been pruned
	}
	known, err := withJobs(ctx, room, o.Device, func(j ledger.Job) bool {
		if j.File != o.fileName() || j.Answers[answers.ToolUp] != "" {
			return true
		}
		if j.State == ledger.Completed {
			text = ""
			return false
		}
		text = fmt.Sprintf("test square %d is job %d, which is %s: was another one measured (--plot)?", o.No, j.ID, j.State.Plain())
		return true
	})
	if !known {
		return "", err // no daemon ran here: it was sent another way
	}
	return text, err
}

// MadeBefore are a device's jobs that are made and have not ended: they do not use what is recorded now.
func MadeBefore(ctx context.Context, room *config.Workroom, device string) ([]ledger.Job, error) {
	var out []ledger.Job
	_, err := withJobs(ctx, room, device, func(j ledger.Job) bool {
		if j.Ready && !j.State.Ended() && !IsOrder(j.File) {
			out = append(out, j)
		}
		return true
	})
	return out, err
}

// withJobs goes through a device's jobs until more is false; known is false where there is no ledger yet.
func withJobs(ctx context.Context, room *config.Workroom, device string, more func(ledger.Job) bool) (known bool, err error) {
	led, err := reading.Look(ctx, room)
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	defer led.Close() //nolint:errcheck // read only
	jobs, err := led.Jobs(ctx, ledger.Filter{Device: device})
	if err != nil {
		return false, err
	}
	for _, j := range jobs {
		if !more(j) {
			break
		}
	}
	return true, nil
}

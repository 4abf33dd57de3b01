package control

import (
	"context"
	"fmt"
	"maps"
	"strings"
	"time"

	"tracewheel/pipeline/ledger"
)

// BetterMost is the longest time that a search for a better lay may be given.
const BetterMost = time.Hour

// SearchCut is the outcome of a search during which the program ended.
const SearchCut = "the program ended before one was found; ask again"

// betterFound begins the reason of a job that is being made with a better lay.
const betterFound = "a better lay was found: "

// relayable refuses a job whose lay can no longer be replaced by a better one.
func (d *Jobs) relayable(j *ledger.Job) error {
	show := fmt.Sprintf("tracewheel show %d", j.ID)
	switch {
	case j.State == ledger.Pending:
		return refuse(fmt.Sprintf("tracewheel hold %d", j.ID), fmt.Sprintf("job %d goes on by itself: hold it before a better lay is sought for it", j.ID))
	case j.State != ledger.Held:
		return d.cannot(j, "laid anew")
	case j.Asks != "":
		return refuse(show, fmt.Sprintf("job %d waits for an answer first: %s", j.ID, j.Asks))
	case j.Fixed:
		return refuse(fmt.Sprintf("tracewheel cancel %d and drop the draft again", j.ID),
			fmt.Sprintf("job %d was released or tried with the tool up already, and keeps the lay that was seen then", j.ID))
	case j.Lay == "" || !j.Ready:
		return refuse(show, fmt.Sprintf("job %d has no lay that could be shorter", j.ID))
	}
	return d.isServed(j)
}

// laySought begins the reason of a job that waits for its first lay. The reason that it had before stands in front.
const laySought = "a shorter lay is sought"

// LaySought writes into the reason of a job that is being made that it waits for a lay, and until when. Ready takes
// this out again. After a crash it stays until the job is made again.
func (d *Jobs) LaySought(ctx context.Context, id int64, wait time.Duration) error {
	words := fmt.Sprintf("%s for up to %s, until %s", laySought, wait.Round(time.Second), d.now().Add(wait).Format("15:04:05"))
	_, err := d.change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
		if j.State == ledger.Pending && !j.Ready {
			j.Reason = strings.TrimPrefix(beforeSearch(j.Reason)+"; "+words, "; ")
		}
		return ledger.Step{}, nil
	})
	return err
}

// beforeSearch is a job's reason without the words of LaySought.
func beforeSearch(reason string) string {
	was, _, _ := strings.Cut(reason, laySought)
	return strings.TrimSuffix(was, "; ")
}

// Better asks for a search for a shorter lay of a held job, at most so long. The wish is kept in memory only: where
// the program ends before a lay is found, the job stays as it was.
func (d *Jobs) Better(ctx context.Context, id int64, seek time.Duration) error {
	if seek < time.Second || seek > BetterMost {
		return refuse("", fmt.Sprintf("a better lay is sought for 1 s to %s", BetterMost))
	}
	d.wishes.Lock()
	defer d.wishes.Unlock()
	j, err := d.change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
		return ledger.Step{Kind: BetterAsked, Text: fmt.Sprintf("a better lay is sought for %s", seek)}, d.relayable(j)
	})
	if err != nil {
		return err
	}
	d.mu.Lock()
	d.seek[id] = seek
	d.mu.Unlock()
	d.Kick(j.Device)
	return nil
}

// Seeking gives the search that is going on for a job, and whether there is one.
func (d *Jobs) Seeking(id int64) (Seeking, bool) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if long, waits := d.seek[id]; waits {
		return Seeking{For: long}, true
	}
	s, is := d.seeking[id]
	return s, is
}

// SoughtTo notes the length of the shortest lay that the search for a job has found so far, mm.
func (d *Jobs) SoughtTo(id int64, length float64) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if s, is := d.seeking[id]; is && (s.Length == 0 || length < s.Length) {
		s.Length = length
		d.seeking[id] = s
	}
}

// Sought gives a job of a device for which a better lay is to be sought, and forgets the wish; 0 for none.
func (d *Jobs) Sought(ctx context.Context, device string) (ledger.Job, time.Duration, error) {
	d.mu.Lock()
	ids := maps.Clone(d.seek)
	d.mu.Unlock()
	for id, seek := range ids {
		j, err := d.led.Job(ctx, id)
		if err == nil && j.Device != device {
			continue
		}
		d.mu.Lock()
		delete(d.seek, id)
		if err == nil {
			d.seeking[id] = Seeking{Began: d.now(), For: seek}
		}
		d.mu.Unlock()
		if err == nil || !IsRefusal(err) {
			return j, seek, err
		}
	}
	return ledger.Job{}, 0, nil
}

// Lays refuses a job whose lay is no longer the one with the sum of, or can no longer be replaced by a better one.
func (d *Jobs) Lays(ctx context.Context, id int64, of string) error {
	j, err := d.led.Job(ctx, id)
	if err == nil {
		err = d.lays(&j, of)
	}
	return err
}

func (d *Jobs) lays(j *ledger.Job, of string) error {
	switch {
	case j.State != ledger.Held:
		return refuse("", "it does not wait for a person any more, and keeps its lay")
	case j.Lay != of:
		return refuse("", "its lay was changed meanwhile, and stays")
	}
	return d.relayable(j)
}

// Relay writes down how a search for a better lay ended, in words. Where it found a lay, the job has to be made with
// it: the job is not ready until then, and after a crash it is made with the lay that it had. of is the sum of the lay
// that the search began with; where the job has another by now, the lay that was found is not taken.
func (d *Jobs) Relay(ctx context.Context, id int64, of string, found bool, words string) (j ledger.Job, taken bool, err error) {
	d.wishes.Lock()
	defer d.wishes.Unlock()
	d.mu.Lock()
	delete(d.seeking, id)
	d.mu.Unlock()
	j, err = d.change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
		err := d.lays(j, of)
		if taken = found && err == nil; taken {
			j.Ready, j.Reason = false, betterFound+fmt.Sprintf("%s, and is being made; should it stay so: tracewheel release %d", words, id)
			return ledger.Step{Kind: Relaid, Text: words}, nil
		}
		if err != nil {
			words = err.Error()
		}
		return ledger.Step{Kind: NotRelaid, Text: words}, nil
	})
	return j, taken, err
}

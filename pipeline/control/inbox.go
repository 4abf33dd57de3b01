package control

import (
	"cmp"
	"context"
	"errors"

	"go.uber.org/zap"

	"tracewheel/pipeline/control/asker"
	"tracewheel/pipeline/ledger"
)

// Reserve, StillThere, Known and Enter are what the inbox asks of Jobs. Reserve gives the number of the next job.
func (d *Jobs) Reserve() int64 { return d.led.Reserve() }

// StillThere gives an error where store or ledger no longer lie where they were opened: then nothing is to be taken or
// sent.
func (d *Jobs) StillThere() error { return cmp.Or(d.st.StillThere(), d.led.StillThere()) }

// Known tells whether a job is in the ledger.
func (d *Jobs) Known(ctx context.Context, id int64) (bool, error) { return d.led.Known(ctx, id) }

// Enter writes new jobs down and wakes their devices' workers.
func (d *Jobs) Enter(ctx context.Context, all ...ledger.Arrival) error {
	d.mu.Lock()
	for i, a := range all {
		if who := d.dropped[[2]string{a.Device, a.File}]; who != "" {
			all[i].Text += " (" + who + ")"
		} else {
			all[i].Text = asker.Sign(ctx, a.Text)
		}
	}
	d.mu.Unlock()
	jobs, err := d.led.EnterAll(ctx, all)
	d.mu.Lock()
	for _, j := range jobs { // of those that are not entered it still holds
		if key := [2]string{j.Device, j.File}; d.dropped[key] != "" {
			d.log.Info("a draft is dropped by a person", zap.Int64("job", j.ID), zap.String("device", j.Device), zap.String("who", d.dropped[key]))
			delete(d.dropped, key)
		}
	}
	d.mu.Unlock()
	for _, j := range jobs {
		d.changed(j)
	}
	return err
}

// Late notes that a job's file was written to after it was taken. A waiting job is held, because it may be half a
// draft; the whole draft comes as a job of its own. For a job that is gone nothing is done.
func (d *Jobs) Late(ctx context.Context, id int64) error {
	const text = "its file went on being written after it was taken, so this may be half of it; the whole lies in the inbox again and becomes a job of its own"
	d.wishes.Lock()
	defer d.wishes.Unlock()
	j, err := d.change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
		switch j.State {
		case ledger.Pending:
			j.State, j.Reason, j.Released = ledger.Held, text, false
		case ledger.Held:
			j.Reason = text + "; " + j.Reason
		}
		return ledger.Step{Kind: "written late", Text: text}, nil
	})
	if errors.Is(err, ledger.ErrNoJob) {
		return nil
	}
	if err == nil {
		d.log.Warn(text, zap.Int64("job", id), zap.String("device", j.Device), zap.String("file", j.File), zap.String("state", string(j.State)))
	}
	return err
}

// Untaken lists the files in the inbox that become no job; nil before TellInbox.
func (d *Jobs) Untaken() []ledger.Untaken {
	d.mu.Lock()
	untaken := d.untaken
	d.mu.Unlock()
	if untaken == nil {
		return nil
	}
	return untaken()
}

// TellInbox sets the function that lists the files in the inbox that become no job.
func (d *Jobs) TellInbox(untaken func() []ledger.Untaken) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.untaken = untaken
}

// What the page is asked for: its address with a code that lets one browser in; a code that lets one release cutters;
// which browsers release them; that one of them does no more.
const (
	PageEntrance = "page"
	PagePair     = "pair"
	PagePaired   = "paired"
	PageUnpair   = "unpair"
)

// TellPage sets the function that the workroom's page is asked by, with the number of a browser where one is meant.
func (d *Jobs) TellPage(page func(wish string, browser int) (string, error)) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.page = page
}

// AskPage asks the workroom's page by the function of TellPage; an error where there is no page.
func (d *Jobs) AskPage(wish string, browser int) (string, error) {
	d.mu.Lock()
	page := d.page
	d.mu.Unlock()
	if page == nil {
		return "", refuse("", "this daemon shows no page: see `page` in the workroom file, and what its log says of the address")
	}
	return page(wish, browser)
}

// Dropped notes who puts a draft into a device's folder of the inbox, for the history of its job; "" takes that back. It is
// kept in memory: where the program ends before the draft is taken, nobody says who dropped it.
func (d *Jobs) Dropped(device, file, who string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.dropped == nil {
		d.dropped = map[[2]string]string{}
	}
	d.dropped[[2]string{device, file}] = who
	if who == "" {
		delete(d.dropped, [2]string{device, file})
	}
}

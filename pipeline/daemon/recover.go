package daemon

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"

	"go.uber.org/zap"

	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/returned"
	"tracewheel/pipeline/store"
)

// recover finds in the ledger what an earlier run left, and corrects it. Nothing of it is sent again.
func (d *Daemon) recover(ctx context.Context) error {
	folders, err := d.inboxFolders()
	if err != nil {
		return err
	}
	if err := d.passNumbers(folders); err != nil {
		return err
	}
	if err := d.unrecorded(ctx); err != nil {
		return err
	}
	if err := d.cutShort(ctx); err != nil {
		return err
	}
	for _, dev := range d.settings.Devices {
		if err := d.takeBack(ctx, dev, "the program ended"); err != nil {
			return err
		}
	}
	if err := d.unsought(ctx); err != nil {
		return err
	}
	if _, err := d.jobs.Prune(ctx, 0); err != nil {
		return err
	}
	if _, err := d.jobs.Strip(ctx, 0); err != nil {
		return err
	}
	for _, folder := range folders {
		jobs, err := d.taker.Finish(ctx, folder)
		if err != nil {
			// The claims stay, and the inbox goes on trying.
			d.log.Warn("files taken by an earlier run cannot be finished yet", zap.String("stage", "start"), zap.String("device", folder), zap.Error(err))
		}
		for _, job := range jobs {
			d.log.Info("finished taking a file", zap.String("stage", "start"), zap.Int64("job", job), zap.String("device", folder))
		}
	}
	if err := d.setStrayAside(ctx, folders); err != nil {
		return err
	}
	if err := d.tellOrphans(ctx); err != nil {
		return err
	}
	if made, err := d.sheets(); err != nil || len(made) == 0 {
		return errors.Join(err, store.SweepDir(d.opts.FS, d.settings.Returned))
	}
	return errors.Join(store.SweepDir(d.opts.FS, d.settings.Made), store.SweepDir(d.opts.FS, d.settings.Returned))
}

// sheets gives the files in the folder of what senders made, none where it does not exist yet.
func (d *Daemon) sheets() ([]fs.DirEntry, error) {
	if d.settings.Made == "" {
		return nil, nil
	}
	all, err := d.opts.FS.ReadDir(d.settings.Made)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	return all, err
}

// inboxFolders gives the folders of all devices, also of those no longer in the workroom: what was taken from them
// must not be forgotten.
func (d *Daemon) inboxFolders() ([]string, error) {
	for _, dev := range d.settings.Devices {
		if err := d.taker.MakeDir(dev.Name); err != nil {
			return nil, store.WithAdvice(fmt.Errorf("making the inbox of %q: %w", dev.Name, err))
		}
	}
	entries, err := d.opts.FS.ReadDir(d.settings.Inbox)
	if err != nil {
		return nil, err
	}
	var folders []string
	for _, e := range entries {
		if e.IsDir() {
			folders = append(folders, e.Name())
		}
	}
	return folders, nil
}

// passNumbers makes sure that no new job gets a number that a file or folder has already, even where the ledger was
// lost and begins anew, or is an older copy.
func (d *Daemon) passNumbers(folders []string) error {
	highest, err := d.taker.HighestClaim(folders)
	if err != nil {
		return err
	}
	jobs, _, err := d.store.Jobs()
	if err != nil {
		return err
	}
	stray, err := d.store.Stray()
	if err != nil {
		return err
	}
	back, err := d.opts.FS.ReadDir(d.settings.Returned)
	if err != nil {
		return err
	}
	made, err := d.sheets()
	if err != nil {
		return err
	}
	for _, e := range append(back, made...) {
		jobs = append(jobs, returned.JobOf(e.Name()))
	}
	d.ledger.Above(max(highest, slices.Max(append(append(jobs, stray...), 0))))
	return nil
}

// unrecorded finds the jobs of which more sendings began than the ledger counts, and stops them.
func (d *Daemon) unrecorded(ctx context.Context) error {
	jobs, err := d.jobs.Jobs(ctx, ledger.Filter{Unended: true})
	if err != nil {
		return err
	}
	for _, j := range jobs {
		n, err := d.store.Sent(j.ID)
		if err != nil {
			return err
		}
		if n <= j.Sends {
			continue
		}
		blocks, total := j.Send.Blocks, j.Send.Total
		if prog, err := d.jobs.Program(ctx, j.ID); err == nil { // without its program nothing of the job is sent again
			blocks, total = len(prog.Blocks), int64(prog.Len())
		}
		if j, err = d.jobs.Unrecorded(ctx, j.ID, n, blocks, total); err != nil {
			return err
		}
		d.log.Warn("the ledger did not know that this job was sent", zap.String("stage", "start"), zap.Int64("job", j.ID), zap.String("device", j.Device),
			zap.String("file", j.File), zap.String("state", string(j.State)), zap.String("reason", j.Reason))
	}
	return nil
}

// cutShort finds the jobs whose sending a kill interrupted, and stops them; the history says what is not known of
// them. A cancel that a printer's queue had not confirmed is repeated.
func (d *Daemon) cutShort(ctx context.Context) error {
	jobs, err := d.jobs.Jobs(ctx, ledger.Filter{States: []ledger.State{ledger.Processing, ledger.Stopped}})
	if err != nil {
		return err
	}
	for _, j := range jobs {
		log := d.log.With(zap.String("stage", "start"), zap.Int64("job", j.ID), zap.String("device", j.Device), zap.String("file", j.File))
		if j.State != ledger.Stopped || j.Send.End == "" {
			// The copy that the sender gave to another program is still there.
			if err := store.SweepDir(d.opts.FS, d.store.JobDir(j.ID)); err != nil && !errors.Is(err, fs.ErrNotExist) {
				return err
			}
			if j, err = d.jobs.CutShort(ctx, j.ID); err != nil {
				return err
			}
			log.Warn("cut short by an earlier end of the program", zap.String("state", string(j.State)), zap.String("reason", j.Reason))
		}
		if prints := func(dev job.Device) bool { return dev.Name == j.Device && dev.Prints }; !j.Send.Cancel || j.State != ledger.Stopped || !slices.ContainsFunc(d.settings.Devices, prints) {
			continue
		}
		if err := d.jobs.CancelAgain(ctx, j.ID); err != nil {
			return err
		}
		log.Warn("a cancel that the queue had not confirmed is asked of it again")
	}
	return nil
}

// takeBack holds a device's jobs again that a person released and that have not begun.
func (d *Daemon) takeBack(ctx context.Context, dev job.Device, since string) error {
	held, err := d.jobs.TakeBack(ctx, dev, since)
	for _, j := range held {
		d.log.Warn("released, but not begun before "+since+": it waits for a person again",
			zap.Int64("job", j.ID), zap.String("device", dev.Name), zap.String("file", j.File))
	}
	return err
}

// tellOrphans logs which jobs wait for a device that is no longer in the workroom file.
func (d *Daemon) tellOrphans(ctx context.Context) error {
	jobs, err := d.jobs.Jobs(ctx, ledger.Filter{States: []ledger.State{ledger.Pending, ledger.Held, ledger.Stopped}})
	if err != nil {
		return err
	}
	for _, j := range jobs {
		if !slices.Contains(d.settings.names(), j.Device) {
			d.log.Warn("this job waits for a device that the workroom file does not name", zap.String("stage", "start"), zap.Int64("job", j.ID),
				zap.String("device", j.Device), zap.String("file", j.File))
		}
	}
	return nil
}

// setStrayAside moves folders away that belong to no job. They come from a taking or an `again` that was interrupted
// before the ledger knew of it, or a person asked for a new ledger. The draft is then still where it was taken from.
func (d *Daemon) setStrayAside(ctx context.Context, folders []string) error {
	jobs, _, err := d.store.Jobs()
	if err != nil {
		return err
	}
	claimed, err := d.taker.Claimed(folders)
	if err != nil {
		return err
	}
	for _, job := range jobs {
		known, err := d.ledger.Known(ctx, job)
		if err != nil {
			return err
		}
		if known || claimed[job] {
			continue
		}
		to, err := d.store.SetAside(job)
		if err != nil {
			return err
		}
		d.log.Warn("a folder that no job in the ledger owns was set aside", zap.String("stage", "start"), zap.Int64("job", job), zap.String("to", to))
	}
	return nil
}

// sweepJob removes the files from a job's folder that an interrupted run left and the ledger does not know.
func (d *Daemon) sweepJob(ctx context.Context, job int64) error {
	files, err := d.ledger.Files(ctx, job)
	if err != nil {
		return err
	}
	known := map[string]bool{}
	for _, f := range files {
		known[f.Name] = true
	}
	entries, err := d.opts.FS.ReadDir(d.store.JobDir(job))
	if err != nil {
		return ownFiles(err)
	}
	for _, e := range entries {
		if known[e.Name()] || store.SentNo(e.Name()) > 0 {
			continue
		}
		err := d.opts.FS.Remove(filepath.Join(d.store.JobDir(job), e.Name()))
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	return nil
}

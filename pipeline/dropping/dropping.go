// Package dropping puts a draft into the inbox for a page, as a person would put it into the folder: it takes what a form says
// of the ticket and the draft, and gives the files, and which job came of them.
package dropping

import (
	"context"
	"path/filepath"
	"slices"

	"tracewheel/config"
	"tracewheel/pipeline/control/asker"
	"tracewheel/pipeline/inbox"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
)

// Jobs are the daemon's, as far as they are asked here.
type Jobs interface {
	// Dropped says by whom a draft is put into a device's folder, "" for nobody.
	Dropped(device, file, who string)
	Jobs(ctx context.Context, f ledger.Filter) ([]ledger.Job, error)
	Untaken() []ledger.Untaken
}

// Folder is that of a device in the inbox.
func Folder(room *config.Workroom, device string) string {
	return filepath.Join(room.Path(room.Folders.Inbox), device)
}

// Put puts a draft, its ticket and the drafts that the ticket names into a device's folder. who is the name that a person gave
// on the page; the job's history says it.
func Put(jobs Jobs, room *config.Workroom, device, who string, f inbox.Dropped, ticket []byte, with ...inbox.Dropped) error {
	jobs.Dropped(device, f.Name, asker.OnPage(who))
	err := inbox.Drop(store.Disk{}, Folder(room, device), f.Name, f.Data, ticket, with...)
	if err != nil {
		jobs.Dropped(device, f.Name, "")
	}
	return err
}

// Last is the number of the newest job, after which the job of a draft comes that is put there now.
func Last(ctx context.Context, jobs Jobs) (int64, error) {
	all, err := jobs.Jobs(ctx, ledger.Filter{Newest: true, Limit: 1})
	if err != nil || len(all) == 0 {
		return 0, err
	}
	return all[0].ID, nil
}

// Taken is the job that came of a draft after another job; nil while it lies in the folder, then with why it becomes none,
// where that is known.
func Taken(ctx context.Context, jobs Jobs, device, file string, after int64) (j *ledger.Job, why string, err error) {
	all, err := jobs.Jobs(ctx, ledger.Filter{Device: device, Above: after})
	if err != nil {
		return nil, "", err
	}
	if i := slices.IndexFunc(all, func(j ledger.Job) bool { return j.File == file }); i >= 0 {
		return &all[i], "", nil
	}
	for _, u := range jobs.Untaken() {
		if u.Device == device && u.File == file {
			why = u.Why
		}
	}
	return nil, why, nil
}

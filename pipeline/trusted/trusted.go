// Package trusted opens the ledger of a store for a daemon. It takes an open store and gives the ledger, or an error where
// it is lost or damaged.
package trusted

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"time"

	"go.uber.org/zap"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
)

// errLedgerLost means that the store holds jobs which the ledger does not know.
var errLedgerLost = errors.New("the ledger does not know the jobs of this store")

// WayBack says what mends a lost or damaged ledger.
const WayBack = "bring ledger.db back from a copy into the store, or, if there is none, start once with `tracewheel run --new-ledger`: it begins a new ledger and sets the old one and the drafts aside in the store's folder `stray`"

// Opening says what is opened and how.
type Opening struct {
	Store *store.Store
	Log   *zap.Logger
	// Now is the clock of the ledger, nil for the system's.
	Now func() time.Time
	// NewLedger is true where a person said that there is no copy to bring back.
	NewLedger bool
	// Claimed are the jobs whose taking from the inbox is not completed: their folders need no row yet.
	Claimed map[int64]bool
}

// Open opens the ledger and refuses one that is damaged, or that does not know what the store holds: with an empty one
// every job would be forgotten unnoticed. With NewLedger such a ledger is set aside.
func Open(ctx context.Context, o Opening) (*ledger.Ledger, error) {
	d := &opener{Opening: o}
	if err := d.open(ctx); err != nil {
		return nil, err
	}
	return d.ledger, nil
}

type opener struct {
	Opening
	ledger *ledger.Ledger
}

func (d *opener) open(ctx context.Context) error {
	err := d.trustedLedger(ctx)
	lost := errors.Is(err, errLedgerLost) || errors.Is(err, ledger.ErrDamaged)
	switch {
	case err == nil && d.NewLedger:
		if known, err := d.ledger.Numbers(ctx); err != nil || len(known) > 0 {
			return errors.Join(err, d.closeLedger(), fmt.Errorf("the ledger is sound and knows %d jobs, which a new one would forget: start without --new-ledger", len(known)))
		}
		return nil
	case err == nil:
		return nil
	case !lost:
		return errors.Join(err, d.closeLedger())
	case !d.NewLedger:
		return errors.Join(fmt.Errorf("%w; %s", err, WayBack), d.closeLedger())
	}
	if cerr := d.closeLedger(); cerr != nil {
		return cerr
	}
	to, aerr := d.Store.LedgerAside()
	if aerr != nil {
		return aerr
	}
	d.Log.Warn("a new ledger is begun, as a person asked; the old one was set aside", zap.String("stage", "start"), zap.String("to", to), zap.Error(err))
	d.ledger, err = ledger.Open(ctx, d.Store.LedgerPath(), d.Now)
	return err
}

func (d *opener) closeLedger() error {
	if d.ledger == nil {
		return nil
	}
	err := d.ledger.Close()
	d.ledger = nil
	return err
}

// trustedLedger opens the ledger if it can be trusted. It makes none where the store holds jobs.
func (d *opener) trustedLedger(ctx context.Context) error {
	owned, err := d.ownedFolders()
	if err != nil {
		return err
	}
	has, err := d.Store.HasLedger()
	if err != nil {
		return err
	}
	if !has && len(owned) > 0 {
		return fmt.Errorf("%w: %q is missing or empty, and the store holds %s", errLedgerLost, d.Store.LedgerPath(), JobsSaid(owned))
	}
	if d.ledger, err = ledger.Open(ctx, d.Store.LedgerPath(), d.Now); err != nil {
		return err
	}
	if err := d.ledger.Check(ctx); err != nil {
		return err
	}
	if _, err := d.ledger.Jobs(ctx, ledger.Filter{Unended: true}); err != nil {
		return fmt.Errorf("%w: %w", ledger.ErrDamaged, err)
	}
	known, err := d.ledger.Numbers(ctx)
	if err != nil {
		return err
	}
	var lost []int64
	for _, job := range owned {
		if !known[job] {
			lost = append(lost, job)
		}
	}
	if len(lost) > 0 {
		return fmt.Errorf("%w: it does not know %s, whose folders lie in %q. If they are left of an `again` that was cut short under an earlier version (they hold a draft and no program), move them elsewhere and start again. Else: was its journal %s-wal taken away?", errLedgerLost, JobsSaid(lost), filepath.Join(d.Store.Dir(), "jobs"), d.Store.LedgerPath())
	}
	return nil
}

// ownedFolders are the folders of jobs that a ledger must know: without those of claims, which are entered later, and
// those that were being filled when the program ended.
func (d *opener) ownedFolders() ([]int64, error) {
	jobs, _, err := d.Store.Jobs()
	if err != nil {
		return nil, err
	}
	var owned []int64
	for _, job := range jobs {
		if !d.Claimed[job] && !d.Store.Begun(job) {
			owned = append(owned, job)
		}
	}
	return owned, nil
}

// JobsSaid lists some jobs for a message.
func JobsSaid(jobs []int64) string {
	if len(jobs) == 1 {
		return fmt.Sprintf("job %d", jobs[0])
	}
	return fmt.Sprintf("%d jobs, job %d among them", len(jobs), jobs[0])
}

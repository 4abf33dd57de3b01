package inbox

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
)

// Finish completes the claims that a crash or a fault left in a device's folder, in the order of their numbers, and gives
// the jobs. It goes on after a claim that cannot be completed; the error joins all faults.
func (t *Taker) Finish(ctx context.Context, device string) (jobs []int64, err error) {
	claims, err := t.claims(device)
	if err != nil {
		return nil, err
	}
	var faults []error
	for _, c := range claims {
		if c.path == "" {
			faults = append(faults, t.loneTicket(ctx, c))
			continue
		}
		done, err := t.finish(ctx, c)
		if err != nil {
			faults = append(faults, fmt.Errorf("job %d (%q): %w", c.job, c.name, err))
			continue
		}
		if done {
			jobs = append(jobs, c.job)
		}
	}
	return jobs, errors.Join(faults...)
}

// loneTicket completes a claimed ticket, or a draft that one names, whose file is gone: step 4 had removed the file, or a
// person took the claim away, and then the ticket gets its name back.
func (t *Taker) loneTicket(ctx context.Context, c claim) error {
	known, err := t.Book.Known(ctx, c.job)
	if err != nil {
		return err
	}
	if known {
		return t.remove(c)
	}
	return t.putBack(c)
}

// claims lists the claims in a device's folder by number.
func (t *Taker) claims(device string) ([]claim, error) {
	entries, err := t.FS.ReadDir(t.Dir(device))
	if err != nil {
		return nil, err
	}
	byJob := map[int64]*claim{}
	var order []int64
	for _, e := range entries {
		job, ticket, name, ok := parseClaim(e.Name())
		if !ok || !e.Type().IsRegular() {
			continue
		}
		c := byJob[job]
		if c == nil {
			c = &claim{device: device, job: job, name: name}
			byJob[job] = c
			order = append(order, job)
		}
		path := filepath.Join(t.Dir(device), e.Name())
		if _, with, is := withName(e.Name()); is {
			if c.with == nil {
				c.with = map[string]string{}
			}
			c.with[with] = path
		} else if ticket {
			c.ticketPath = path
		} else {
			c.path, c.name = path, name
		}
	}
	slices.Sort(order)
	list := make([]claim, len(order))
	for i, job := range order {
		list[i] = *byJob[job]
	}
	return list, nil
}

// HighestClaim is the greatest job number of a claim in the inbox, 0 for none.
func (t *Taker) HighestClaim(devices []string) (highest int64, err error) {
	jobs, err := t.Claimed(devices)
	for job := range jobs {
		highest = max(highest, job)
	}
	return highest, err
}

// Claimed are the jobs with claims in the devices' folders.
func (t *Taker) Claimed(devices []string) (map[int64]bool, error) {
	jobs := map[int64]bool{}
	for _, device := range devices {
		claims, err := t.claims(device)
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return nil, err
		}
		for _, c := range claims {
			jobs[c.job] = true
		}
	}
	return jobs, nil
}

// Package leftout knows of which cloths a cutter's job leaves out the pieces, and which other job of the same draft is for them. It
// takes jobs and what is stored with them; it changes nothing.
package leftout

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/store"
)

// Cloth is one of which a job leaves out the pieces, and the job that is for them, 0 for none yet.
type Cloth struct {
	Name string
	Job  int64
}

// Jobs are those of a workroom, with the files that are stored with them.
type Jobs interface {
	Job(ctx context.Context, id int64) (ledger.Job, error)
	Jobs(ctx context.Context, f ledger.Filter) ([]ledger.Job, error)
	Read(ctx context.Context, job int64, name string) ([]byte, error)
}

// Findings are those of a job, none where they cannot be read.
func Findings(ctx context.Context, of Jobs, id int64) (all []pattern.Finding) {
	text, err := of.Read(ctx, id, store.Findings)
	if err != nil || json.Unmarshal(text, &all) != nil {
		return nil
	}
	return all
}

// Of are the cloths of which a job leaves out the pieces, each with the job of the same draft that is for it: the latest that was
// not refused or canceled, and is for all of them.
func Of(ctx context.Context, jobs Jobs, j ledger.Job) (out []Cloth, err error) {
	for _, name := range pattern.ClothsLeftOut(Findings(ctx, jobs, j.ID)) {
		out = append(out, Cloth{Name: name})
	}
	if len(out) == 0 {
		return nil, nil
	}
	first := j
	for first.AgainOf != 0 {
		if first, err = jobs.Job(ctx, first.AgainOf); err != nil {
			return nil, err
		}
	}
	later, err := jobs.Jobs(ctx, ledger.Filter{Device: j.Device, Above: first.ID - 1, Faulty: true})
	if err != nil {
		return nil, err
	}
	slices.SortFunc(later, func(a, b ledger.Job) int { return int(a.ID - b.ID) })
	family := map[int64]bool{first.ID: true}
	for _, o := range later {
		if !family[o.ID] && !family[o.AgainOf] {
			continue
		}
		some := o.Answers[answers.Pieces] != "" && o.Answers[answers.Bed] == "" // of its pieces, chosen by their numbers
		if family[o.ID] = true; o.State == ledger.Canceled || o.State == ledger.Aborted || o.Trial() != "" || some {
			continue
		}
		left := pattern.ClothsLeftOut(Findings(ctx, jobs, o.ID))
		for k, c := range out {
			if o.Answers[answers.Cloth] == c.Name || len(left) > 0 && !slices.Contains(left, c.Name) {
				out[k].Job = o.ID
			}
		}
	}
	return out, nil
}

// Named is a cloth by the name that the draft has for it. One of which the job leaves out nothing is refused, since all would be cut
// again, and one of which another job is already, since its pieces would be cut twice: refused says so, and hint what to do.
func Named(ctx context.Context, jobs Jobs, j ledger.Job, said string) (cloth, refused, hint string, err error) {
	left, err := Of(ctx, jobs, j)
	if err != nil {
		return "", "", "", err
	}
	if len(left) == 0 {
		return "", fmt.Sprintf("job %d leaves out no pieces of another cloth", j.ID), fmt.Sprintf("once it has ended, tracewheel again %d makes it again whole", j.ID), nil
	}
	var names []string
	for _, c := range left {
		names = append(names, c.Name)
		switch {
		case !strings.EqualFold(c.Name, strings.TrimSpace(said)):
		case c.Job != 0:
			return "", fmt.Sprintf("job %d is already for the pieces of %s", c.Job, c.Name),
				fmt.Sprintf("see it by tracewheel show %[1]d; once it has ended, tracewheel again %[1]d makes it again", c.Job), nil
		default:
			return c.Name, "", "", nil
		}
	}
	return "", fmt.Sprintf("job %d leaves out no pieces of %q", j.ID, said), "it leaves out those of " + strings.Join(names, " and "), nil
}

package stock

import (
	"context"

	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/ledger"
)

// Free lists the remnants on which nothing is to be laid that is released or has begun.
func Free(ctx context.Context, from interface {
	Stock(context.Context) ([]ledger.Stock, error)
	Jobs(context.Context, ledger.Filter) ([]ledger.Job, error)
}) (free []ledger.Stock, err error) {
	all, err := from.Stock(ctx)
	if err != nil || len(all) == 0 {
		return nil, err
	}
	jobs, err := from.Jobs(ctx, ledger.Filter{Unended: true, Faulty: true})
	if err != nil {
		return nil, err
	}
	taken := map[int64]bool{0: true} // the roll is no remnant
	for _, j := range jobs {
		if j.Fault == "" && j.State != ledger.Held && j.Answers[answers.ToolUp] == "" {
			taken[j.Remnant.No] = true
		}
	}
	for _, s := range all {
		if !taken[s.No] && s.Length > 0 {
			free = append(free, s)
		}
	}
	return free, nil
}

package control

import (
	"context"

	"go.uber.org/zap"

	"tracewheel/pipeline/ledger"
)

// remarked keeps a sender's remark until it is written to the ledger, and tells whether it is a new one. The caller
// holds d.mu.
func (l *live) remarked(p Progress) bool {
	if p.Remark == l.last.Remark {
		return false
	}
	l.remarks = append(l.remarks, p.Remark)
	return true
}

// writeRemarks writes a sender's remarks into the job's history and log, and the last one as the job's reason. Where a
// write fails, the remarks are kept. The caller holds l.writing.
func (d *Jobs) writeRemarks(ctx context.Context, l *live) error {
	for {
		d.mu.Lock()
		if len(l.remarks) == 0 {
			d.mu.Unlock()
			return nil
		}
		text, p := l.remarks[0], l.last
		d.mu.Unlock()
		_, err := d.change(ctx, p.Job, func(j *ledger.Job) (ledger.Step, error) {
			if j.State == ledger.Processing {
				j.Reason = text
			}
			if text == "" {
				return ledger.Step{}, nil
			}
			return ledger.Step{Kind: "remark", Text: text}, nil
		})
		if err != nil {
			return err
		}
		if text != "" {
			d.log.Warn(text, zap.String("stage", "send"), zap.String("device", p.Device), zap.Int64("job", p.Job))
		}
		d.mu.Lock()
		l.remarks = l.remarks[1:]
		d.mu.Unlock()
	}
}

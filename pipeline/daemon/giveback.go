package daemon

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"strings"

	"go.uber.org/zap"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/returned"
	"tracewheel/pipeline/store"
)

// refuse gives the file back with its report and then ends the job. After a kill between the two the draft is refused
// again, into the same folder.
func (w *worker) refuse(ctx context.Context, log *zap.Logger, j ledger.Job, in job.Draft, b job.Made, made control.Made) error {
	reason := cmp.Or(firstError(b.Findings), b.Reason, "the draft was refused")
	folder, err := w.giveBack(j, in, b)
	if errors.Is(err, control.ErrNotSaved) {
		return w.unusable(ctx, log, j, err)
	}
	if err != nil {
		return err
	}
	if _, err := w.d.jobs.Refuse(ctx, j.ID, made, reason); err != nil {
		return err
	}
	log.Warn("refused; the file lies with its report among the refused ones", zap.String("reason", reason), zap.String("returned", folder))
	return nil
}

// firstError gives in one line why a draft was refused, "" where no finding is an error.
func firstError(findings []pattern.Finding) string {
	text, more := "", 0
	for _, f := range findings {
		if f.Severity != pattern.Error {
			continue
		}
		if text == "" {
			text = f.Message
			if f.Piece != "" {
				text = fmt.Sprintf("%q: %s", f.Piece, f.Message)
			}
		} else {
			more++
		}
	}
	if more > 0 {
		text += fmt.Sprintf(" (and %d more, see the report)", more)
	}
	return text
}

// giveBack makes the folder of a refused file in returned/: the file itself, its ticket, the drafts that the ticket
// names and that were dropped with it, the report and the pictures. The folder appears there complete.
func (w *worker) giveBack(j ledger.Job, in job.Draft, b job.Made) (string, error) {
	fsys, folder := w.d.opts.FS, w.d.returned
	name := returned.Name(j)
	final := filepath.Join(folder, name)
	temp := filepath.Join(folder, fmt.Sprintf(".part-job%d", j.ID))
	if err := errors.Join(store.RemoveTree(fsys, temp), store.MakeDirs(fsys, temp, store.Private)); err != nil {
		return "", store.WithAdvice(err)
	}
	f, err := w.d.store.Open(j.ID, j.Original)
	if err != nil {
		return "", err
	}
	sum, err := store.SaveFile(fsys, filepath.Join(temp, j.File), f, store.PrivateFile)
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err == nil && (sum.SHA256 != j.SHA256 || sum.Size != j.Size) {
		err = errors.Join(control.NotSaved(j.ID, j.Original), store.RemoveTree(fsys, temp))
	}
	if err != nil {
		return "", err
	}
	files := beside(j.File, in, b)
	for _, name := range slices.Sorted(maps.Keys(files)) {
		if _, err := store.SaveFile(fsys, filepath.Join(temp, name), bytes.NewReader(files[name]), store.PrivateFile); err != nil {
			return "", err
		}
	}
	if err := store.Share(fsys, temp, w.d.group); err != nil {
		return "", store.WithAdvice(err)
	}
	if err := store.RemoveTree(fsys, final); err != nil {
		return "", store.WithAdvice(err)
	}
	if err := fsys.Rename(temp, final); err != nil {
		return "", store.WithAdvice(err)
	}
	return name, store.WithAdvice(fsys.SyncDir(folder))
}

// beside gives the files that lie beside a draft that is given back, by their names there. A dropped file keeps its
// name, the ticket gets the draft's, and no file of the report replaces another.
func beside(draft string, in job.Draft, b job.Made) map[string][]byte {
	files := map[string][]byte{draft: nil}
	add := func(name string, data []byte) {
		for _, taken := files[name]; taken; _, taken = files[name] {
			name = "tracewheel-" + name
		}
		files[name] = data
	}
	for _, name := range slices.Sorted(maps.Keys(in.With)) {
		add(name, in.With[name])
	}
	if in.Ticket != nil {
		add(strings.TrimSuffix(draft, filepath.Ext(draft))+".ticket.yaml", in.Ticket)
	}
	for _, ours := range []map[string][]byte{b.Report, b.Pictures} {
		for _, name := range slices.Sorted(maps.Keys(ours)) {
			add(name, ours[name])
		}
	}
	delete(files, draft)
	return files
}

package daemon

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"math"
	"runtime/debug"
	"slices"
	"strings"
	"time"

	"go.uber.org/zap"

	"tracewheel/devices"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/inbox"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/store"
)

// makeNext makes the program of the device's next new job. did is true where there was one.
func (w *worker) makeNext(ctx context.Context) (bool, error) {
	w.making.Lock()
	defer w.making.Unlock()
	j, again, err := w.first(ctx, "made", ledger.Filter{Unready: true})
	if err != nil || j.ID == 0 {
		return again, err
	}
	err = w.make(ctx, j, nil)
	if control.IsRefusal(err) {
		return true, nil // a person was faster: the job is canceled or held now
	}
	return true, w.putAside(ctx, j.ID, err)
}

// make makes a job's program and shows it. The files are durable first, the lay under a name of its own; then one step
// of the ledger has their sums, the lay's sum in the job's line, and that the job is ready. A crash between leaves the
// job unready with the lay that it had, and files that the ledger does not know, which the next making removes. lay is
// a better lay than the job's, nil for none.
func (w *worker) make(ctx context.Context, j ledger.Job, lay []byte) error {
	log := w.log.With(zap.Int64("job", j.ID), zap.String("stage", "make"), zap.String("file", j.File))
	if err := w.d.sweepJob(ctx, j.ID); err != nil {
		return err
	}
	began := w.d.now()
	built, in, err := w.build(ctx, j, lay, true)
	if errors.Is(err, control.ErrNotSaved) {
		return w.unusable(ctx, log, j, err)
	}
	if err != nil {
		return err
	}
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if len(built.Beds) > 0 {
		return w.d.jobs.Divide(ctx, j.ID, built.Beds)
	}
	made := control.Made{Style: built.Style, Pieces: built.Pieces, Order: built.Order, Names: built.Names, Answers: j.Answers, Asks: built.Hold,
		Note: strings.Join(built.Notes, "; "), Laid: built.Laid, Fits: built.Fits}
	id := j.ID
	if built.Lay != nil {
		sum := sha256.Sum256(built.Lay)
		made.Lay = hex.EncodeToString(sum[:])
	}
	if made.Files, err = w.keep(id, built, made.Lay); err != nil {
		return err
	}
	if built.Refused && j.Remnant.No != 0 {
		_, err = w.d.jobs.OffRemnant(ctx, id, built.WhyRefused())
		return errors.Join(err, w.d.sweepJob(ctx, id))
	}
	if built.Refused {
		err = w.refuse(ctx, log, j, in, built, made)
	} else {
		made.Ready = built.Hold == ""
		w.madeAt(id, began)
		if j, err = w.d.jobs.Ready(ctx, id, made); err == nil {
			j, err = w.d.jobs.Job(ctx, id)
		}
	}
	if err != nil {
		// A person has canceled the job, or the device leaves: the files belong to no job.
		return errors.Join(err, w.d.sweepJob(context.WithoutCancel(ctx), id))
	}
	if built.Refused {
		return nil
	}
	if short, _ := j.StockSaid(w.d.ledger.Rolls().Unit); short != "" {
		log.Warn(short)
	}
	log.Info("made", zap.String("style", built.Style), zap.Int("pieces", built.Pieces), zap.String("state", string(j.State)),
		zap.String("reason", j.Reason), zap.Int("findings", len(built.Findings)), zap.Int("bytes", built.Program.Len()))
	return nil
}

// build reads the draft and calls the maker, with lay in place of the job's lay unless it is nil; waits says that a
// good lay may be waited for. A maker that fails or panics refuses the draft with that as the reason, so that nobody
// waits for a job that cannot be made.
func (w *worker) build(ctx context.Context, j ledger.Job, lay []byte, waits bool) (b job.Made, in job.Draft, err error) {
	if j.Size > inbox.LargestFile {
		return refusal("this file has %d MB, and a draft at most %d: it is probably something else", j.Size>>20, int64(inbox.LargestFile>>20)), in, nil
	}
	if in, err = w.draft(ctx, j); err != nil {
		return b, in, err
	}
	if lay != nil {
		in.Lay = lay
	}
	if in.Waits = waits; waits {
		in.LaySought = func(wait time.Duration) {
			if err := w.d.jobs.LaySought(ctx, j.ID, wait); err != nil && ctx.Err() == nil {
				w.log.Warn("that a lay is sought could not be written down", zap.Int64("job", j.ID), zap.Error(err))
			}
		}
	}
	if in.Remnants, err = w.d.jobs.Remnants(ctx); err != nil {
		return b, in, err
	}
	b, err = w.callMaker(ctx, in)
	switch {
	case ctx.Err() != nil:
		return b, in, ctx.Err()
	case err != nil:
		b = refusal("%s", err)
	case !namesAreGood(b):
		b = refusal("tracewheel itself failed on this draft (a report or picture has no proper name): please report it with the file")
	case !b.Refused && b.Hold == "" && len(b.Beds) == 0 && len(b.Program.Blocks) == 0:
		b = refusal("nothing came of this draft that could be drawn or cut")
	}
	return b, in, nil
}

// namesAreGood tells whether all files of a made draft may be saved under their names.
func namesAreGood(b job.Made) bool {
	for _, files := range []map[string][]byte{b.Report, b.Pictures} {
		for name := range files {
			if !store.PlainName(name) {
				return false
			}
		}
	}
	return true
}

// makeLimit is the longest time that making one draft may take; the largest take some seconds.
const makeLimit = 5 * time.Minute

// callMaker waits for the maker until it is done, a person ends the job, the time is up or the daemon ends. A maker
// that is no longer waited for ends at its next stage, and its result is dropped.
func (w *worker) callMaker(ctx context.Context, in job.Draft) (job.Made, error) {
	type result struct {
		b   job.Made
		err error
	}
	done := make(chan result, 1)
	making, stop := context.WithCancel(ctx)
	defer stop()
	go func() {
		b, err := w.makerOrPanic(making, in)
		done <- result{b, err}
	}()
	kicks, leave := w.d.jobs.Listen(w.device.Name)
	defer leave()
	late := time.NewTimer(makeLimit)
	defer late.Stop()
	for {
		if j, err := w.d.jobs.Job(ctx, in.Job); err == nil && j.State.Ended() || errors.Is(err, ledger.ErrNoJob) {
			return job.Made{}, errors.New("it ended while it was made")
		}
		select {
		case r := <-done:
			return r.b, r.err
		case <-ctx.Done():
			return job.Made{}, ctx.Err()
		case <-late.C:
			return job.Made{}, fmt.Errorf("it takes longer than %s to make: leave in the draft only what its pieces need", makeLimit)
		case <-kicks:
		}
	}
}

func (w *worker) makerOrPanic(ctx context.Context, in job.Draft) (b job.Made, err error) {
	defer func() {
		if r := recover(); r != nil {
			w.log.Error("panic while a draft was made", zap.Int64("job", in.Job), zap.String("stage", "make"), zap.Any("panic", r), zap.ByteString("stack", debug.Stack()))
			err = fmt.Errorf("tracewheel itself failed on this draft (%v): please report it with the file", r)
		}
	}()
	return w.d.opts.Build(ctx, in)
}

// draft reads what a job's program is made of.
func (w *worker) draft(ctx context.Context, j ledger.Job) (job.Draft, error) {
	in, err := job.Read(ctx, w.d.jobs, j)
	if err != nil {
		return in, ownFiles(err)
	}
	in.Busy = w.d.sends
	return in, nil
}

func refusal(format string, args ...any) job.Made {
	reason := fmt.Sprintf(format, args...)
	return job.Made{Refused: true, Reason: reason, Report: map[string][]byte{"report.txt": []byte(reason + "\n")}}
}

// keep saves what was made in the job's folder, the lay under the name of its sum, and gives the files with their
// sums.
func (w *worker) keep(no int64, b job.Made, lay string) ([]ledger.File, error) {
	var files []store.Named
	if len(b.Program.Blocks) > 0 && !b.Refused {
		program, err := store.ProgramFiles(b.Program)
		if err != nil {
			return nil, err
		}
		files = program
	}
	findings := b.Findings
	if findings == nil {
		findings = []pattern.Finding{}
	}
	text, err := json.MarshalIndent(findings, "", " ")
	if err != nil {
		return nil, err
	}
	files = append(files, store.Named{Name: store.Findings, Data: text})
	if b.Refused && b.Pieces > 0 && len(b.Names) == b.Pieces { // a refused job has no program that holds the names
		names := make([]string, b.Pieces)
		for i, p := range b.Names {
			names[i] = p.Name
		}
		if text, err = json.Marshal(names); err != nil {
			return nil, err
		}
		files = append(files, store.Named{Name: store.PieceNames, Data: text})
	}
	if name := ledger.LayFile(lay); name != "" {
		files = append(files, store.Named{Name: name, Data: b.Lay})
	}
	for _, name := range slices.Sorted(maps.Keys(b.Report)) {
		files = append(files, store.Named{Name: "report-" + name, Data: b.Report[name]})
	}
	for _, card := range slices.Sorted(maps.Keys(b.Cards)) {
		files = append(files, store.Named{Name: ledger.CardFile(card), Data: b.Cards[card]})
	}
	for _, name := range slices.Sorted(maps.Keys(b.Blocks)) {
		files = append(files, store.Named{Name: ledger.BlockFile(name), Data: b.Blocks[name]})
	}
	for _, name := range slices.Sorted(maps.Keys(b.With)) {
		files = append(files, store.Named{Name: ledger.WithFile(name), Data: b.With[name]})
	}
	for _, name := range slices.Sorted(maps.Keys(b.Pictures)) {
		files = append(files, store.Named{Name: "picture-" + name, Data: b.Pictures[name]})
	}
	sums, err := w.d.store.SaveAll(no, files)
	if err != nil {
		return nil, err
	}
	list := make([]ledger.File, len(sums))
	for i, s := range sums {
		list[i] = ledger.File{Job: no, Name: s.Name, Size: s.Size, SHA256: s.SHA256}
	}
	return list, nil
}

// drawn gives the log's field for the length of line that a program draws, in metres; none for pages.
func drawn(p devices.Program) []zap.Field {
	if p.DrawnMM == 0 {
		return nil
	}
	return []zap.Field{zap.Float64("metres", math.Round(p.DrawnMM)/1000)}
}

package verify

import (
	"errors"
	"io/fs"
	"slices"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
)

// Job looks at one job: at its files in the store, its history and its sendings.
func Job(st *store.Store, r ledger.Record) []Problem {
	v := verifier{st: st}
	v.job(r)
	return v.problems
}

// failed notes that something could not be looked at.
func (v *verifier) failed(job int64, err error) bool {
	if err != nil {
		v.fault(job, "", "cannot be looked at: %s", err)
	}
	return err != nil
}

func (v *verifier) job(r ledger.Record) {
	if r.Job.Fault != "" {
		v.fault(r.Job.ID, "bring the ledger back from a copy", "%s", r.Job.Fault)
		return
	}
	v.files(r.Job, r.Files)
	v.history(r.Job, r.Events)
	v.sends(r.Job, r.Sends, r.Events)
}

// files compares what the ledger names with what lies there.
func (v *verifier) files(j ledger.Job, files []ledger.File) {
	if j.Stripped == ledger.Forgotten {
		v.forgotten(j, files)
		return
	}
	// Until a job is ready what was made of its draft may be half there; the draft itself may not.
	making := !j.Ready && !j.State.Ended()
	listed := map[string]bool{}
	for _, f := range files {
		listed[f.Name] = true
		if making && !j.MadeOf(f) {
			continue
		}
		sum, err := v.st.Sum(j.ID, f.Name)
		switch {
		case errors.Is(err, fs.ErrNotExist) && j.Stripped == ledger.Stripping && store.Passing(f.Name):
			// What a crash left half removed is finished by the next start.
		case errors.Is(err, fs.ErrNotExist):
			v.fault(j.ID, "bring it back from a copy", "its file %q is missing", f.Name)
		case err != nil:
			v.failed(j.ID, err)
		case sum.Size != f.Size || sum.SHA256 != f.SHA256:
			v.fault(j.ID, "bring it back from a copy", "its file %q is not what was saved", f.Name)
		}
	}
	for _, f := range files {
		if f.Name == ledger.LayFile(j.Lay) && f.SHA256 != j.Lay {
			v.fault(j.ID, "bring the ledger back from a copy", "its line names another lay than its file %q", f.Name)
		}
	}
	for _, must := range []string{j.Original, j.Ticket, ledger.LayFile(j.Lay)} {
		if must != "" && !listed[must] {
			v.fault(j.ID, "", "the ledger does not list its file %q", must)
		}
	}
	if j.Ready && j.Stripped != ledger.Bare && !listed[store.ProgramBytes] {
		v.fault(j.ID, "", "it is ready but has no program")
	}
	if j.Stripped != ledger.Whole && !j.State.Ended() {
		v.fault(j.ID, "", "its program is removed although it has not ended")
	}
	names, err := v.st.Names(j.ID)
	if v.failed(j.ID, err) {
		return
	}
	for _, name := range names {
		switch no := store.SentNo(name); {
		case no > j.Sends && j.State.Ended():
			v.fault(j.ID, "bring the ledger back from a copy", "its folder shows that sending %d was begun, and the ledger counts %d", no, j.Sends)
		case no > j.Sends:
			v.fault(j.ID, "the next start of the daemon stops it", "its folder shows that sending %d was begun, and the ledger counts %d", no, j.Sends)
		case no == 0 && !making && !listed[name]:
			v.fault(j.ID, "move it elsewhere", "a file %q lies in its folder that the ledger does not know", name)
		}
	}
}

// forgotten sees to it that nothing is left of a forgotten job but its number, device, state, dates and sendings.
func (v *verifier) forgotten(j ledger.Job, files []ledger.File) {
	const mend = "say again: tracewheel forget CARD --for-good, with the name of the card"
	if len(files) > 0 || j.File != ledger.ForgottenWord || j.Style+j.Original+j.Ticket+j.Wearer+j.Production != "" {
		v.fault(j.ID, mend, "it is forgotten, and the ledger still knows of its draft")
	}
	if names, err := v.st.Names(j.ID); !v.failed(j.ID, err) && len(names) > 0 {
		v.fault(j.ID, mend, "it is forgotten, and %q still lies in its folder", names[0])
	}
}

// history walks the job's events by the table of transitions.
func (v *verifier) history(j ledger.Job, events []ledger.Event) {
	if len(events) == 0 {
		v.fault(j.ID, "", "it has no history")
		return
	}
	state := ledger.State("")
	for _, e := range events {
		if e.From != state {
			v.fault(j.ID, "", "event %d (%s) starts from %q but the job was %q", e.Seq, e.Kind, e.From, state)
		}
		if e.From != e.To && !ledger.Allowed(e.From, e.To) {
			v.fault(j.ID, "", "event %d (%s) goes from %q to %q, which is no way to go", e.Seq, e.Kind, e.From, e.To)
		}
		state = e.To
	}
	if state != j.State {
		v.fault(j.ID, "", "its history ends as %q but it stands as %q", state, j.State)
	}
	if !j.State.Known() {
		v.fault(j.ID, "", "%q is no state of a job", j.State)
	}
	if j.State.Ended() == j.Ended.IsZero() {
		v.fault(j.ID, "", "it is %s, and its time of ending says otherwise", j.State)
	}
	if j.SameAs >= j.ID || j.AgainOf >= j.ID {
		v.fault(j.ID, "", "it follows a job that came after it")
	}
}

// sends checks that nothing was sent unasked: every run but the first has a person's word.
func (v *verifier) sends(j ledger.Job, sends []ledger.Send, events []ledger.Event) {
	if len(sends) != j.Sends {
		v.fault(j.ID, "", "%d runs are written down but it counts %d", len(sends), j.Sends)
		return
	}
	asked := 1
	for _, e := range events {
		takesBack := e.From == ledger.Stopped && e.Kind == "cancel asked" // of a printer's queue
		if e.Kind == "resume" || e.Kind == ledger.SendingFound || takesBack && e.To == ledger.Processing {
			asked++
		}
	}
	if len(sends) > asked {
		v.fault(j.ID, "see what was drawn", "it was sent %d times, and people asked for %d", len(sends), asked)
	}
	for i, s := range sends {
		if s.No != i+1 {
			v.fault(j.ID, "", "run %d is missing", i+1)
			return
		}
		over := s.End != ""
		if (i < len(sends)-1 || j.State.Ended()) && !over {
			v.fault(j.ID, "", "run %d never ended", s.No)
		}
		if s.Sure >= s.Blocks || s.First > s.Blocks {
			v.fault(j.ID, "", "run %d counts more blocks than there are: from %d to %d of %d", s.No, s.First, s.Sure, s.Blocks)
		}
	}
	begun := len(sends) > 0
	switch j.State {
	case ledger.Processing, ledger.Stopped, ledger.Completed:
		if !begun {
			v.fault(j.ID, "", "it is %s but was never sent", j.State)
		}
	case ledger.Pending, ledger.Held:
		if begun {
			v.fault(j.ID, "", "it is %s but its sending had begun", j.State)
		}
	}
	said := slices.ContainsFunc(events, func(e ledger.Event) bool { // by a person that the sheet is whole
		return e.From == ledger.Stopped && e.To == ledger.Completed
	})
	if j.State == ledger.Completed && begun && !said && sends[len(sends)-1].End != "done" {
		v.fault(j.ID, "", "it is completed but its last run ended as %q", sends[len(sends)-1].End)
	}
}

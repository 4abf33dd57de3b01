package board

import (
	"fmt"
	"net/http"
	"strconv"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/control/asker"
	"tracewheel/pipeline/jobpicture"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/places"
	"tracewheel/pipeline/web"
)

// act does what a button of a job's page asks. Pause and cancel are always done, because stopping is always safe, and
// so is Seen, because a refused job stays refused. Any other button is refused where the job has changed since its
// page was shown.
func (b *Board) act(w http.ResponseWriter, r *http.Request, j ledger.Job) {
	session := web.SessionOf(r)
	ctx := asker.ByPage(r.Context(), session.Who)
	verb, to := r.PathValue("verb"), j.ID
	always := verb == "pause" || verb == "cancel" || verb == "seen"
	if !always {
		changed, err := b.changed(r, j)
		if err != nil {
			b.problem(w, r, err)
			return
		}
		if changed != "" {
			b.notDone(w, r, http.StatusConflict, "Not done", fmt.Sprintf("job %d has changed since this page was shown, so nothing was done: %s. Look at it again", j.ID, changed))
			return
		}
	}
	said := control.Confirmation(r.PostFormValue("said"))
	cutter := b.kind(j.Device).Cuts()
	if cutter && !b.web.Door.Paired(session.ID) {
		said = "" // without the confirmation no cutter moves, whatever happens to the job meanwhile
	}
	remnant := r.PostFormValue("remnant") // choosing a remnant moves nothing
	if cutter && (verb == "release" && j.Ready && remnant == "" && len(given(r)) == 0 || verb == "resume") && !b.web.Door.Paired(session.ID) {
		b.notDone(w, r, http.StatusForbidden, "Not done", fmt.Sprintf("%s is a cutter: release it at the machine, from the terminal (tracewheel %s %d) or from a page paired there (tracewheel devices --pair)", j.Device, verb, j.ID))
		return
	}
	var err error
	switch verb {
	case "hold":
		err = b.o.Jobs.Hold(ctx, j.ID)
	case "release":
		if remnant != "" {
			err = b.o.Jobs.ReleaseOn(ctx, j.ID, remnant, nil)
			break
		}
		err = b.o.Jobs.ReleaseLay(ctx, j.ID, given(r), said, r.PostFormValue("lay"))
	case "seen":
		err = b.o.Jobs.Seen(ctx, j.ID)
	case "next":
		err = b.o.Jobs.Next(ctx, j.ID)
	case "cancel":
		err = b.o.Jobs.Cancel(ctx, j.ID)
	case "pause":
		err = b.o.Jobs.Pause(ctx, j.ID)
	case "resume":
		err = b.o.Jobs.Resume(ctx, j.ID, fromOf(r), said)
	case "again":
		if jobpicture.Chosen(r) != "" && r.PostFormValue("cloth") != "" {
			b.notDone(w, r, http.StatusBadRequest, "Not done", "pieces by number and those of a cloth cannot be chosen together")
			return
		}
		to, _, err = b.o.Jobs.AgainPieces(ctx, j.ID, jobpicture.Chosen(r), r.PostFormValue("cloth"))
	case "whole", "spoilt":
		err = b.o.Jobs.Sheet(ctx, j.ID, verb == "whole")
	default:
		http.NotFound(w, r)
		return
	}
	if err != nil {
		b.problem(w, r, err)
		return
	}
	asker.LogWish(ctx, b.o.Log, verb, j.ID)
	http.Redirect(w, r, web.Within(r.PostFormValue("back"), fmt.Sprintf("/job/%d", to)), http.StatusSeeOther)
}

// fromOf is the place from which a stopped job is to continue; a piece by its number where the form has one.
func fromOf(r *http.Request) string {
	if n, err := strconv.Atoi(r.PostFormValue("piece")); err == nil {
		return places.FromPiece(n)
	}
	return r.PostFormValue("from")
}

// given are the answers in the form of a job that asks.
func given(r *http.Request) map[string]string {
	out := map[string]string{}
	for _, a := range answers.All {
		if v := r.PostFormValue(a.Name); v != "" {
			out[a.Name] = v
		}
	}
	return out
}

// changed says what happened to a job since its page was shown, "" for nothing.
func (b *Board) changed(r *http.Request, j ledger.Job) (string, error) {
	seen, err := strconv.ParseInt(r.PostFormValue("seen"), 10, 64)
	if err != nil {
		return "the page did not say what it showed", nil
	}
	events, err := b.o.Jobs.Events(r.Context(), j.ID)
	if err != nil || len(events) == 0 {
		return "", err
	}
	last := events[len(events)-1]
	if last.Seq == seen {
		return "", nil
	}
	text := last.Kind
	if last.Text != "" {
		text += ": " + last.Text
	}
	return text, nil
}

package board

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"tracewheel/pipeline/control/asker"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/machines"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/testsquare"
	"tracewheel/pipeline/web"
)

// devicePage is what a device's page shows.
type devicePage struct {
	machines.State
	Queue []card
	More  bool
	cautions
	// Offset is the blade offset of the next job, "" for a device without a blade.
	Offset string
	// Worn is the length that its pen or blade has made, "" where it is not known; Blade is true for one with a blade,
	// Changes are its changes, the newest first, and LastChange is the number of the newest.
	Worn       string
	Blade      bool
	Changes    []ledger.ToolChange
	LastChange int64
	// Kept is nil where it cannot be read; Unreadable says why.
	Kept       *testsquare.Calibrations
	Unreadable string
	// Standing are the calibrations in force.
	Standing   []testsquare.Standing
	Unrecorded []testsquare.Order
	// Wish is an accuracy that a person wants, Reached how it is reached, or what is wrong with it.
	Wish, Reached string
	// Said is the result of the last button.
	Said []string
	// Square is the form of readings, nil where no test square was ordered.
	Square *squareForm
	// Plots is true where test squares can be sent to the device, Ladders where blade offsets can be tried on it,
	// Rolls where long lines can be drawn.
	Plots, Ladders, Rolls bool
	Plot                  plotForm
	// Ordered is the number of test squares ordered when the page was made.
	Ordered int
	Stock   stockForm
	// Unit is the workroom's unit.
	Unit string
}

// plotForm is the form that orders a test square, as filled in, and why it was refused.
type plotForm struct{ Size, Count, Long, Blade, Fault string }

// withDevice passes a device of the workroom on, and refuses other names.
func (b *Board) withDevice(fn func(http.ResponseWriter, *http.Request, string)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		room, name := b.o.Room(), r.PathValue("name")
		if !slices.Contains(room.DeviceNames(), name) {
			b.web.Problem(w, r, http.StatusNotFound, "No such device", room.NoDevice(name).Error())
			return
		}
		fn(w, r, name)
	}
}

// device shows a device, from the workroom file, the ledger and its calibrations: its port is not opened for a page.
func (b *Board) device(w http.ResponseWriter, r *http.Request, name string) {
	p, err := b.deviceOf(r, name)
	if err != nil {
		b.problem(w, r, err)
		return
	}
	b.show(w, r, name, "device.html", p, nil)
}

func (b *Board) deviceOf(r *http.Request, name string) (*devicePage, error) {
	room, ctx := b.o.Room(), r.Context()
	jobs, err := b.o.Jobs.Jobs(ctx, ledger.Filter{Device: name, Unended: true, Faulty: true, Turn: true, Limit: listed + 1})
	if err != nil {
		return nil, err
	}
	p := &devicePage{Unit: room.Units, Plot: plotForm{Size: "500mm", Count: "1"}}
	if p.More = len(jobs) > listed; p.More {
		jobs = jobs[:listed]
	}
	var stopped *ledger.Job
	now := b.sentNow()
	for _, j := range jobs {
		if j.State == ledger.Stopped {
			stopped = &j
		}
		p.Queue = append(p.Queue, b.cardOf(ctx, j, now))
	}
	slices.SortStableFunc(p.Queue, func(a, c card) int { return turn(a) - turn(c) })
	p.State = machines.Known(room, name, b.o.Jobs.Now(), stopped)
	if v := p.BladeOffset; v != nil {
		p.Offset = pattern.FineLength(*v, room.Units)
	}
	kind := room.Devices[name].Kind
	p.cautions = b.cautionsOf(ctx, name)
	p.Plots, p.Ladders, p.Rolls = !kind.Prints(), b.hasLadder(name), !kind.Prints() && !kind.Cuts() && p.Length == 0
	if !kind.Prints() {
		tool, err := b.o.Jobs.Tool(ctx, name)
		if err != nil {
			return nil, err
		}
		p.Worn, p.Blade, p.LastChange, p.Changes = tool.Said(kind.Cuts(), room.Units), kind.Cuts(), tool.Last(), slices.Clone(tool.Changes)
		slices.Reverse(p.Changes)
		if p.Stock, err = b.stockOf(ctx, room.Devices[name].Material); err != nil {
			return nil, err
		}
	}
	if p.Kept, err = testsquare.Load(room, name); err != nil {
		p.Kept, p.Unreadable = nil, err.Error()
		return p, nil
	}
	p.Ordered = len(p.Kept.Orders)
	p.Standing = p.Kept.Standing(room.Units)
	p.Unrecorded = p.Kept.Unrecorded()
	if p.Wish = r.URL.Query().Get("wish"); p.Wish != "" {
		percent, err := testsquare.Accuracy(p.Wish)
		if p.Reached = testsquare.ToReach(room, name, percent); err != nil {
			p.Reached = err.Error()
		}
	}
	p.Said = b.saidOf(r, p.Kept)
	p.Square = b.emptySquare(r, p.Kept)
	return p, nil
}

// squarePicture sends the picture of the square of a calibration.
func (b *Board) squarePicture(w http.ResponseWriter, r *http.Request, name string) {
	room := b.o.Room()
	kept, err := testsquare.Load(room, name)
	if err != nil {
		b.problem(w, r, err)
		return
	}
	no, _ := strconv.Atoi(r.PathValue("no")) // no calibration has the number 0
	i := slices.IndexFunc(kept.Entries, func(e testsquare.Calibrated) bool { return e.No == no })
	if i < 0 {
		b.web.Problem(w, r, http.StatusNotFound, "No such calibration", fmt.Sprintf("%s has no calibration %q; its page lists them", name, r.PathValue("no")))
		return
	}
	svg, err := testsquare.Picture(room, name, kept.Entries[i], ".svg")
	if err != nil {
		b.web.Problem(w, r, http.StatusNotFound, "No picture", err.Error())
		return
	}
	web.Picture(w, svg)
}

// changedTool records that the pen or blade was changed, on a person's button; a page that knows an older change is
// refused.
func (b *Board) changedTool(w http.ResponseWriter, r *http.Request, name string) {
	ctx := asker.ByPage(r.Context(), web.SessionOf(r).Who)
	last, err := strconv.ParseInt(r.PostFormValue("last"), 10, 64)
	if err != nil || last < 0 {
		b.notDone(w, r, http.StatusBadRequest, "Not done", "the page did not say what it showed, so nothing was noted: look at it again")
		return
	}
	if err := b.o.Jobs.ToolChanged(ctx, name, last); err != nil {
		b.problem(w, r, err)
		return
	}
	asker.LogChanged(ctx, b.o.Log, name)
	http.Redirect(w, r, "/device/"+url.PathEscape(name)+"#tool", http.StatusSeeOther)
}

// turn orders a queue: the job on the machine comes first.
func turn(c card) int {
	if c.State == ledger.Processing || c.State == ledger.Stopped {
		return 0
	}
	return 1
}

// saidOf says, after the redirect to the page, what was just ordered or recorded.
func (b *Board) saidOf(r *http.Request, kept *testsquare.Calibrations) []string {
	q := r.URL.Query()
	if n, err := strconv.Atoi(q.Get("plotted")); err == nil {
		if o, err := kept.Order(n, nil); err == nil {
			return append([]string{fmt.Sprintf("%s is dropped and becomes a job", o)}, o.Lines(b.o.Room().Units)...)
		}
	}
	n, err := strconv.Atoi(q.Get("recorded"))
	i := slices.IndexFunc(kept.Entries, func(e testsquare.Calibrated) bool { return e.No == n })
	if err != nil || i < 0 || i != len(kept.Entries)-1 || kept.Entries[i].Withdrawn != nil {
		return nil
	}
	lines, err := testsquare.JobsMadeWithout(r.Context(), b.o.Room(), kept.Device, kept.Entries[i])
	if err != nil {
		lines = []string{err.Error()}
	}
	return append(kept.Kept(kept.Entries[i]), lines...)
}

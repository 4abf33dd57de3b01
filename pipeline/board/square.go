package board

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"go.uber.org/zap"

	"tracewheel/devices"
	"tracewheel/devices/calibration"
	"tracewheel/pipeline/control/asker"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/testsquare"
	"tracewheel/pipeline/web"
)

// squareForm is the form of readings on a page, as filled in, with its result.
type squareForm struct {
	Device string
	Order  testsquare.Order
	// Orders are the test squares that can be measured, the newest first; none on a printer.
	Orders []testsquare.Order
	// Seen is the number of calibrations when the form was shown.
	Seen   int
	Unit   string
	Fields []squareField
	// Others are the fields beside the readings; Rungs counts the squares of a ladder.
	Others []squareField
	Rungs  []int
	Rung   int
	Words  string
	// Fault is why nothing can be recorded, Text the result of the readings, Doubts must be confirmed first.
	Fault, Text string
	Doubts      []string
}

// squareField is one field of the form.
type squareField struct {
	Name, Label, Value, Fault, Hint string
	// Needed is set for the sides, which are required.
	Needed bool
}

// carriesField is the field for the calibration that a printer's sheet carries.
const carriesField = "calibration"

func (b *Board) hasLadder(device string) bool {
	return b.o.Room().Devices[device].Kind == devices.DragKnife
}

// emptySquare is the form of the test square in the address, or of the last; nil for none.
func (b *Board) emptySquare(r *http.Request, kept *testsquare.Calibrations) *squareForm {
	f, _, err := b.readSquare(r, kept, r.URL.Query())
	if err != nil {
		return nil
	}
	for i := range f.Others { // nothing is filled in yet
		if f.Others[i].Value == "" {
			f.Others[i].Fault = ""
		}
	}
	return f
}

// readSquare reads the form that was sent: form has the readings without faults, the fields have the faults of the
// others.
func (b *Board) readSquare(r *http.Request, kept *testsquare.Calibrations, v url.Values) (f *squareForm, form *testsquare.Form, err error) {
	room := b.o.Room()
	f = &squareForm{Device: kept.Device, Seen: len(kept.Entries), Unit: room.Units}
	no, _ := strconv.Atoi(v.Get("plot"))
	sheet := testsquare.OnPaper{Calibration: -1, Paper: v.Get("paper"), Wanted: v.Get("wanted"), Unit: room.Units}
	if on, err := strconv.Atoi(v.Get("calibration")); err == nil {
		sheet.Calibration = on
	}
	every := func(testsquare.Order) bool { return true }
	f.Order, err = kept.Asked(room, no, every, sheet)
	carries := squareField{Name: carriesField, Label: "Calibration that the sheet says it is corrected by", Hint: "0 where it says none, or nothing"}
	if unsaid := err; errors.Is(err, testsquare.ErrUnsaid) {
		sheet.Calibration = 0 // for the questions only: the fault prevents recording
		f.Order, err = kept.Asked(room, no, every, sheet)
		f.Order.Calibration, carries.Fault = -1, unsaid.Error()
	} else {
		carries.Value = strconv.Itoa(f.Order.Calibration)
	}
	if err != nil {
		return f, nil, err
	}
	other := func(name, label, hint string) string {
		said := strings.TrimSpace(v.Get(name))
		f.Others = append(f.Others, squareField{Name: name, Label: label, Value: said, Hint: hint})
		return said
	}
	if f.Order.Paper != "" {
		other("paper", "Paper that was printed on", "empty for "+f.Order.Paper)
		other("wanted", "What was measured instead of the test square, as a frame of 186.0x242.0", "empty for the test square")
		f.Others = append(f.Others, carries)
	} else {
		f.Orders = slices.Clone(kept.Orders)
		slices.Reverse(f.Orders)
	}
	ladder := len(f.Order.Ladder) > 0
	read := [2]float64{1, 1}
	var usual [2]string
	usual[0], usual[1] = testsquare.Graduations(room.Units)
	for i, of := range []struct{ name, label string }{{"ruler", "The ruler is read to"}, {"tape", "The tape for the long lines is read to"}} {
		if ladder || i == 1 && f.Order.Long == 0 {
			continue
		}
		said := cmp.Or(other(of.name, of.label, "empty for "+usual[i]), usual[i])
		all, err := testsquare.Lengths(said, pattern.UnitMM(room.Units))
		if err != nil || len(all) != 1 {
			f.Others[len(f.Others)-1].Fault = fmt.Sprintf("%q is not a length", said)
			continue
		}
		read[i] = all[0]
	}
	form = testsquare.NewForm(f.Order, read[0], read[1], room.Units)
	form.Kept, form.Who = kept, asker.OnPage(web.SessionOf(r).Who)
	if ladder {
		f.Words = testsquare.LadderWords
		for i := range f.Order.Ladder {
			f.Rungs = append(f.Rungs, i+1)
		}
		f.Rung, _ = strconv.Atoi(v.Get("rung"))
	} else {
		f.fill(form, v)
	}
	form.Material = other("material", "Paper or cloth, and which", "may be left empty")
	form.Humidity = other("humidity", "Humidity of the room, as 45%", "may be left empty")
	form.Note = other("note", "Anything else to be known", "may be left empty")
	return f, form, nil
}

// fill reads the readings, and reports the faults of each by itself.
func (f *squareForm) fill(form *testsquare.Form, v url.Values) {
	questions := form.Questions()
	for _, q := range questions {
		where := "Long lines"
		if q.Square > 0 {
			where = fmt.Sprintf("Square %d", q.Square)
		}
		one := squareField{Name: fmt.Sprintf("r-%d-%s", q.Square, q.Side), Label: where + ", " + string(q.Side), Hint: form.Length(q.Nominal) + " wanted"}
		one.Needed = q.Square > 0 && slices.Contains(calibration.SquareSides[:4], q.Side)
		if words := q.Side.Words(); words != "" {
			one.Label += ", " + words
		}
		one.Value = strings.TrimSpace(v.Get(one.Name))
		if err := form.Answer(q.Square, q.Side, one.Value); err != nil {
			one.Fault = err.Error()
		}
		f.Fields = append(f.Fields, one)
	}
	for i, q := range questions {
		if f.Fields[i].Fault == "" {
			f.Fields[i].Fault = form.Slip(q)
		}
	}
}

// judge evaluates the readings, and says whether they can be recorded.
func (b *Board) judge(r *http.Request, f *squareForm, form *testsquare.Form) (result calibration.Result, can bool) {
	for _, one := range slices.Concat(f.Fields, f.Others) {
		if one.Fault != "" {
			f.Fault = "mend what is said at the fields first"
			if one.Name == carriesField && one.Value == "" {
				f.Fault = one.Fault
			}
			return result, false
		}
	}
	unlikely, err := f.Order.Unlikely(r.Context(), b.o.Room(), b.o.Now())
	if len(f.Rungs) > 0 {
		if err == nil {
			_, err = form.Rung(f.Rung)
		}
	} else if err == nil {
		if result, err = form.Solve(); err == nil {
			f.Text = form.Text(result)
		}
	}
	if err != nil {
		f.Fault = err.Error()
		return result, false
	}
	f.Doubts = result.Doubts
	if unlikely != "" {
		result.Doubts = append(result.Doubts, unlikely)
		f.Doubts = result.Doubts
	}
	return result, true
}

// judgeSquare answers a script that sends the form while it is filled in; nothing is recorded.
func (b *Board) judgeSquare(w http.ResponseWriter, r *http.Request, name string) {
	kept, err := testsquare.Load(b.o.Room(), name)
	if err != nil {
		b.problem(w, r, err)
		return
	}
	answer := struct {
		Fields map[string]string `json:"fields"`
		Fault  string            `json:"fault"`
		Text   string            `json:"text"`
		Doubts []string          `json:"doubts"`
	}{Fields: map[string]string{}}
	f, form, err := b.readSquare(r, kept, r.PostForm)
	if err != nil {
		answer.Fault = err.Error()
	} else {
		b.judge(r, f, form)
		answer.Fault, answer.Text, answer.Doubts = f.Fault, f.Text, f.Doubts
		for _, one := range slices.Concat(f.Fields, f.Others) {
			answer.Fields[one.Name] = one.Fault
			if one.Value == "" && one.Needed && form.Fitted() == nil {
				answer.Fault = "" // the form is not complete yet
			}
		}
	}
	w.Header().Set("Content-Type", "application/json")
	_ = json.NewEncoder(w).Encode(answer) // the browser may be gone
}

// recordSquare evaluates the whole form, and records it where the person asks for that and there is no fault. A form
// older than the last calibration is refused, so that pressing twice records once.
func (b *Board) recordSquare(w http.ResponseWriter, r *http.Request, name string) {
	room := b.o.Room()
	p, err := b.deviceOf(r, name)
	if err == nil && p.Kept == nil {
		err = errors.New(p.Unreadable)
	}
	if err != nil {
		b.problem(w, r, err)
		return
	}
	f, form, err := b.readSquare(r, p.Kept, r.PostForm)
	if err != nil {
		b.notDone(w, r, http.StatusConflict, "Nothing is recorded", err.Error())
		return
	}
	p.Square = f
	result, can := b.judge(r, f, form)
	status := http.StatusOK
	record := r.PostFormValue("do") == "record"
	if seen, err := strconv.Atoi(r.PostFormValue("seen")); record && can && (err != nil || seen != len(p.Kept.Entries)) {
		f.Fault, can = "the calibrations of this device have changed since this page was shown: look at them, then record it anew", false
	}
	if record && can && len(f.Doubts) > 0 && r.PostFormValue("yes") == "" {
		f.Fault, can = "look at the doubts, measure again, or tick that it is recorded all the same", false
	}
	if record && can {
		var e testsquare.Calibrated
		if len(f.Rungs) > 0 {
			offset, _ := form.Rung(f.Rung) // checked above
			e, err = form.KeepBlade(room, p.Kept, offset, b.o.Now())
		} else {
			e, err = form.Keep(p.Kept, result, b.o.Now())
		}
		if err == nil {
			paper := zap.Skip()
			if e.Paper != "" {
				paper = zap.String("paper", e.Paper)
			}
			b.o.Log.Info("a calibration is recorded", zap.String("device", name), zap.Int("calibration", e.No), paper, zap.String("who", e.Who))
			http.Redirect(w, r, fmt.Sprintf("/device/%s?recorded=%d#said", url.PathEscape(name), e.No), http.StatusSeeOther)
			return
		}
		f.Fault = err.Error()
	}
	if f.Fault != "" {
		status = http.StatusConflict
		f.Fault = "nothing is recorded: " + f.Fault
	}
	b.showAs(status, w, r, name, "device.html", p, nil)
}

// plotSquare orders a test square: the order is dropped into the device's folder and handled as any job.
func (b *Board) plotSquare(w http.ResponseWriter, r *http.Request, name string) {
	said := plotForm{Size: r.PostFormValue("size"), Count: r.PostFormValue("count"), Long: strings.TrimSpace(r.PostFormValue("long")), Blade: strings.TrimSpace(r.PostFormValue("blade"))}
	count, err := strconv.Atoi(said.Count)
	if err != nil {
		err = fmt.Errorf("%q is not how many", said.Count)
	}
	b.seen.Lock()
	defer b.seen.Unlock()
	if err == nil {
		err = b.plotSeen(name, r.PostFormValue("seen"))
	}
	var wish testsquare.Wish
	if err == nil {
		wish, err = testsquare.NewWish(said.Size, count, said.Long, said.Blade)
	}
	if err == nil {
		var o testsquare.Order
		if o, _, err = testsquare.Plot(b.o.Room(), name, wish, b.o.Now()); err == nil {
			b.o.Log.Info("a test square is sent for", zap.String("device", name), zap.Int("test_square", o.No), zap.String("who", asker.OnPage(web.SessionOf(r).Who)))
			http.Redirect(w, r, fmt.Sprintf("/device/%s?plotted=%d#said", url.PathEscape(name), o.No), http.StatusSeeOther)
			return
		}
	}
	p, wrong := b.deviceOf(r, name)
	if wrong != nil {
		b.problem(w, r, wrong)
		return
	}
	said.Fault = "nothing is sent for: " + err.Error()
	p.Plot = said
	b.showAs(http.StatusConflict, w, r, name, "device.html", p, nil)
}

// plotSeen refuses a form whose page knew another number of test squares: a form sent twice would draw two.
func (b *Board) plotSeen(name, seen string) error {
	kept, err := testsquare.Load(b.o.Room(), name)
	if err != nil {
		return err
	}
	if seen == "" {
		return errors.New("the page did not say what it showed: look at it again")
	}
	if n, err := strconv.Atoi(seen); err == nil && n == len(kept.Orders) {
		return nil
	}
	last := "and it is gone"
	if n := len(kept.Orders); n > 0 {
		last = kept.Orders[n-1].String()
	}
	return fmt.Errorf("a test square was sent for since this page was shown: %s. If one more is wanted, send for it again", last)
}

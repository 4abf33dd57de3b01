package desk

import (
	"fmt"
	"net/http"
	"net/url"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"tracewheel/pipeline/desk/folder"
	"tracewheel/pipeline/dropping"
	"tracewheel/pipeline/inbox"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/web"
)

// send drops a saved draft with its ticket into a device's folder of the inbox, and redirects to its progress. A
// refused form is shown again.
func (d *Desk) send(w http.ResponseWriter, r *http.Request) {
	name, device := r.PathValue("name"), r.PostFormValue("device")
	text, file, err := d.read(name)
	if err != nil {
		d.problem(w, r, err)
		return
	}
	after, err := d.sendAs(r, name, filepath.Base(file), text)
	if err != nil {
		p := deskPage{Name: name, Text: string(text), Version: folder.VersionOf(text), Body: r.PostFormValue("drawn-for"), With: asOpened, Refused: d.plainPaths(err.Error()), Device: device}
		p.Ticket = dropping.TicketForm(d.o.Room()).Filled(r.PostForm).Marked(err, d.plainPaths(err.Error()))
		d.page(w, r, http.StatusBadRequest, p, nil)
		return
	}
	http.Redirect(w, r, "/desk/draft/"+url.PathEscape(name)+"/sent?device="+url.QueryEscape(device)+"&after="+strconv.FormatInt(after, 10), http.StatusSeeOther)
}

// sendAs does it. It gives the number of the last job before.
func (d *Desk) sendAs(r *http.Request, name, file string, text []byte) (after int64, err error) {
	room, device, body := d.o.Room(), r.PostFormValue("device"), strings.TrimSpace(r.PostFormValue("say-body"))
	switch {
	case d.o.Jobs == nil:
		return 0, fmt.Errorf("nothing was sent: this desk runs by itself, and no daemon that would take the draft. %s", howToSend)
	case device == "":
		return 0, fmt.Errorf("nothing was sent: no device is named. Choose one of %s", strings.Join(room.DeviceNames(), ", "))
	case !slices.Contains(room.DeviceNames(), device): // only a known name becomes a folder
		return 0, fmt.Errorf("nothing was sent: %w", room.NoDevice(device))
	}
	form := r.PostForm
	if strings.TrimSpace(form.Get("say-sizes")) != "" && body == form.Get("drawn-for") {
		form.Del("say-body") // which the page filled in
		body = ""
	}
	if card, _, err := d.cardFile(body); body != "" && err == nil && !d.headWith(name, string(text)).tells(body) && filepath.Dir(card) != filepath.Clean(room.Path("cards")) {
		return 0, fmt.Errorf("nothing was sent: the card %q is the file %s, and a device's job looks into the folder cards alone. Move the card there, then send again", body, card)
	}
	ticket, err := dropping.TicketForm(room).Written(form)
	if err != nil {
		return 0, err
	}
	if after, err = dropping.Last(r.Context(), d.o.Jobs); err != nil {
		return 0, err
	}
	return after, dropping.Put(d.o.Jobs, room, device, web.SessionOf(r).Who, inbox.Dropped{Name: file, Data: text}, ticket)
}

// sent shows what became of a draft that was sent: the job, its state and a link to its page.
func (d *Desk) sent(w http.ResponseWriter, r *http.Request) {
	q, data := r.URL.Query(), struct {
		Name, File, Device, Why, Again string
		Job                            *ledger.Job
	}{Name: r.PathValue("name"), Device: r.URL.Query().Get("device"), Again: r.URL.RequestURI()}
	file, err := folder.File(d.o.Drafts, data.Name)
	after, numberErr := strconv.ParseInt(q.Get("after"), 10, 64)
	switch {
	case err == nil && d.o.Jobs == nil:
		err = fmt.Errorf("this desk runs by itself, so nothing was sent from here. %s", howToSend)
	case err == nil && numberErr != nil:
		err = fmt.Errorf("the address of this page does not say after which job the draft was sent: %q", q.Get("after"))
	}
	if err == nil {
		data.File = filepath.Base(file)
		data.Job, data.Why, err = dropping.Taken(r.Context(), d.o.Jobs, data.Device, data.File, after)
	}
	if err != nil {
		d.problem(w, r, err)
		return
	}
	d.show(w, r, http.StatusOK, "Sent: "+data.Name, "sent.html", data)
}

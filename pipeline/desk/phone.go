package desk

import (
	"html/template"
	"net/http"

	"tracewheel/pipeline/web"
)

// phone shows the address for one phone, as a code for its camera, and says what it opens; while the desk is not
// shared it asks whether to share it. slip is the reason of a refusal.
func (d *Desk) phone(w http.ResponseWriter, r *http.Request, status int, slip string) {
	data := struct {
		Address, Drafts, Cards, Slip string
		Code                         template.HTML
	}{Drafts: d.o.Drafts, Cards: d.o.Cards, Slip: slip}
	if data.Address = d.o.Sharing.Phone(); data.Address != "" {
		svg, _, err := web.QR(data.Address)
		if err != nil {
			d.problem(w, r, err)
			return
		}
		data.Code = template.HTML(svg) //nolint:gosec // drawn by this program
	}
	d.show(w, r, status, "A phone beside", "phone.html", data)
}

// shareOut opens the desk to the network, after the person confirmed that it is a home network.
func (d *Desk) shareOut(w http.ResponseWriter, r *http.Request) {
	if r.PostFormValue("home") != "yes" {
		d.phone(w, r, http.StatusBadRequest, "nothing was opened: tick the box first, if it is so")
		return
	}
	if err := d.o.Sharing.Share(); err != nil {
		d.phone(w, r, http.StatusBadRequest, "nothing was opened: "+err.Error())
		return
	}
	http.Redirect(w, r, "/desk/phone", http.StatusSeeOther)
}

// unshare closes it to the network again.
func (d *Desk) unshare(w http.ResponseWriter, r *http.Request) {
	if err := d.o.Sharing.Unshare(); err != nil {
		d.problem(w, r, err)
		return
	}
	http.Redirect(w, r, "/desk/phone", http.StatusSeeOther)
}

// end ends a desk without a daemon.
func (d *Desk) end(w http.ResponseWriter, r *http.Request) {
	d.show(w, r, http.StatusOK, "Ended", "end.html", nil)
	d.o.End()
}

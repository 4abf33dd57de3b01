package desk

import (
	"html/template"
	"net/http"

	"tracewheel/pipeline/web"
)

// phone shows the address by which one phone comes in, as a picture to point its camera at, and says what it opens.
func (d *Desk) phone(w http.ResponseWriter, r *http.Request) {
	data := struct {
		Address, Drafts, Cards string
		Code                   template.HTML
	}{Drafts: d.o.Drafts, Cards: d.o.Cards}
	if d.o.Phone != nil {
		data.Address = d.o.Phone()
		svg, _, err := web.QR(data.Address)
		if err != nil {
			d.problem(w, r, err)
			return
		}
		data.Code = template.HTML(svg) //nolint:gosec // drawn by this program
	}
	d.show(w, r, http.StatusOK, "A phone beside", "phone.html", data)
}

// end ends a desk that runs by itself.
func (d *Desk) end(w http.ResponseWriter, r *http.Request) {
	d.show(w, r, http.StatusOK, "Ended", "end.html", nil)
	d.o.End()
}

package desk

import (
	"fmt"
	"net/http"
	"path/filepath"
	"slices"
)

// send puts a saved draft into a device's folder of the inbox, the ticket first, as a person would.
func (d *Desk) send(w http.ResponseWriter, r *http.Request) {
	room, device, name := d.o.Room(), r.PostFormValue("device"), r.PathValue("name")
	text, _, err := d.read(name)
	if err != nil {
		d.problem(w, r, err)
		return
	}
	if !d.o.Sends || !slices.Contains(room.DeviceNames(), device) {
		d.problem(w, r, room.NoDevice(device))
		return
	}
	file := filepath.Join(room.Path(room.Folders.Inbox), device, name+".yaml")
	if body := r.PostFormValue("body"); body != "" {
		if err := create(filepath.Join(filepath.Dir(file), name+".yaml.ticket.yaml"), fmt.Appendf(nil, "body: %s\n", quote(body))); err != nil {
			d.problem(w, r, err)
			return
		}
	}
	if err := create(file, text); err != nil {
		d.problem(w, r, err)
		return
	}
	http.Redirect(w, r, "/desk/draft/"+name+"?said=sent", http.StatusSeeOther)
}

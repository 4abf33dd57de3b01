package desk

import (
	"fmt"
	"net/http"
	"net/url"
	"path/filepath"
	"slices"

	"tracewheel/pipeline/inbox"
	"tracewheel/pipeline/store"
)

// send puts a saved draft into a device's folder of the inbox.
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
	var ticket []byte
	if body := r.PostFormValue("body"); body != "" {
		if file, _, err := d.cardFile(body); err == nil && !d.headWith(name, string(text)).tells(body) && filepath.Dir(file) != filepath.Clean(room.Path("cards")) {
			d.problem(w, r, fmt.Errorf("nothing was sent: the card %q is the file %s, and a device's job looks into the folder cards alone. Move the card there, then send again", body, d.plainPaths(file)))
			return
		}
		ticket = fmt.Appendf(nil, "body: %s\n", quote(body))
	}
	if err := inbox.Drop(store.Disk{}, filepath.Join(room.Path(room.Folders.Inbox), device), name+".yaml", text, ticket); err != nil {
		d.problem(w, r, err)
		return
	}
	http.Redirect(w, r, "/desk/draft/"+url.PathEscape(name)+"?said=sent", http.StatusSeeOther)
}

package board

import (
	"net/http"

	"tracewheel/pipeline/settings"
)

// settings shows the workroom file in force, without changing it.
func (b *Board) settings(w http.ResponseWriter, r *http.Request) {
	room := b.o.Room()
	parts, err := settings.Of(room)
	if err != nil {
		b.problem(w, r, err)
		return
	}
	b.show(w, r, "Settings", "settings.html", struct {
		File  string
		Parts []settings.Part
	}{room.File, parts}, nil)
}

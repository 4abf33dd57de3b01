package board

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"path/filepath"
	"slices"
	"strings"

	"tracewheel/pipeline/inbox"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
	"tracewheel/pipeline/web"
)

// uploadLimit bounds what is dropped onto the page at once, uploadsAtOnce how many people drop something.
const (
	uploadLimit   = 20 << 20
	uploadsAtOnce = 4
)

// uploads holds a place for each upload that goes on.
var uploads = make(chan struct{}, uploadsAtOnce)

func (b *Board) dropPage(w http.ResponseWriter, r *http.Request) {
	b.show(w, r, "Drop a draft", "drop.html", struct {
		Devices []string
		Untaken []ledger.Untaken
	}{b.o.Room().DeviceNames(), b.o.Jobs.Untaken()}, "")
}

// drop puts a draft into a device's folder of the inbox.
func (b *Board) drop(w http.ResponseWriter, r *http.Request) {
	select {
	case uploads <- struct{}{}:
		defer func() { <-uploads }()
	default:
		b.web.Problem(w, r, http.StatusServiceUnavailable, "Not taken", fmt.Sprintf("%d other drafts are coming in just now, which is as many as are taken at once. Nothing of yours was kept: drop it again in a moment", uploadsAtOnce))
		return
	}
	if err := r.ParseMultipartForm(uploadLimit); err != nil {
		status, text := web.BodyFault(err, uploadLimit)
		b.web.Problem(w, r, status, "Not taken", "the draft: "+text+"; or put it into the folder of the inbox instead")
		return
	}
	if !b.web.Inside(r) {
		b.web.Problem(w, r, http.StatusUnauthorized, "Not taken", "this browser was withdrawn while the draft came")
		return
	}
	name, err := b.take(r)
	if err != nil {
		b.web.Problem(w, r, http.StatusBadRequest, "Not taken", err.Error())
		return
	}
	b.show(w, r, "Dropped", "dropped.html", struct{ Name, Device string }{name, r.PostFormValue("device")}, "")
}

func (b *Board) take(r *http.Request) (string, error) {
	room, device := b.o.Room(), r.PostFormValue("device")
	if !slices.Contains(room.DeviceNames(), device) { // the name of a folder is ours, never the browser's
		return "", room.NoDevice(device)
	}
	file, head, err := r.FormFile("draft")
	if err != nil {
		return "", errors.New("no draft came with it; choose a file first")
	}
	defer file.Close() //nolint:errcheck // only read
	name, err := draftName(head.Filename)
	if err != nil {
		return "", err
	}
	data, err := io.ReadAll(file)
	if err != nil {
		return "", fmt.Errorf("the draft came only in part: %w", err)
	}
	var ticket []byte
	if said := strings.TrimSpace(r.PostFormValue("ticket")); said != "" {
		ticket = []byte(said + "\n")
	}
	return name, inbox.Drop(store.Disk{}, filepath.Join(room.Path(room.Folders.Inbox), device), name, data, ticket)
}

// draftName makes a plain name of what a browser calls a file. Only its last part is looked at.
func draftName(said string) (string, error) {
	said = said[strings.LastIndexAny(said, `/\`)+1:]
	ext := strings.ToLower(filepath.Ext(said))
	if !slices.Contains([]string{".svg", ".dxf", ".yaml", ".yml"}, ext) {
		return "", fmt.Errorf("a draft is an .svg, a .dxf or a measured draft in .yaml, not %q", said)
	}
	base := strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '-', r == '_':
			return r
		}
		return '-'
	}, strings.TrimSuffix(said, filepath.Ext(said)))
	base = strings.Trim(base, "-")
	if base == "" {
		base = "draft"
	}
	return base[:min(len(base), 80)] + ext, nil
}

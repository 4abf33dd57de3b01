package board

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"path/filepath"
	"slices"
	"strings"

	"tracewheel/pipeline/dropping"
	"tracewheel/pipeline/inbox"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/store"
	"tracewheel/pipeline/web"
)

// uploadLimit bounds the bytes of one upload, uploadsAtOnce the uploads at the same time.
const (
	uploadLimit   = 20 << 20
	uploadsAtOnce = 4
)

// uploads is a semaphore for uploads.
var uploads = make(chan struct{}, uploadsAtOnce)

// dropForm is the form of the drop page: empty, or as it was sent with its fault.
type dropForm struct {
	Devices []string
	Ticket  dropping.Ticket
	Untaken []ledger.Untaken
	// Device and One are the choices in the form, Files the names of the files to be chosen again.
	Device string
	One    bool
	Files  []string
	// Sent is true of a form that is shown again, Fault is a fault of the whole form, "" where it is at a field.
	Sent  bool
	Fault string
}

// Label is the label of the field with the fault.
func (f dropForm) Label() string {
	return cmp.Or(map[string]string{"device": "For which device", "draft": "Drafts"}[f.Ticket.At], f.Ticket.Label())
}

func (b *Board) emptyDrop() dropForm {
	room := b.o.Room()
	return dropForm{Devices: room.DeviceNames(), Ticket: dropping.TicketForm(room), Untaken: b.o.Jobs.Untaken()}
}

func (b *Board) dropPage(w http.ResponseWriter, r *http.Request) {
	b.show(w, r, "Drop drafts", "drop.html", b.emptyDrop(), nil)
}

// dropAgain shows the form again. A page cannot choose files for a person, so their names are listed.
func (b *Board) dropAgain(w http.ResponseWriter, r *http.Request, err error, text string) {
	f := b.emptyDrop()
	f.Sent, f.Fault = true, text
	f.Device, f.One = r.PostFormValue("device"), r.PostFormValue("as") == "one"
	f.Ticket = f.Ticket.Filled(r.PostForm).Marked(err, text)
	if heads := r.MultipartForm.File["draft"]; len(heads) <= mostDropped {
		for _, h := range heads {
			f.Files = append(f.Files, h.Filename)
		}
	}
	b.showAs(http.StatusBadRequest, w, r, "Not taken", "drop.html", f, nil)
}

// drop puts drafts into a device's folder of the inbox.
func (b *Board) drop(w http.ResponseWriter, r *http.Request) {
	select {
	case uploads <- struct{}{}:
		defer func() { <-uploads }()
	default:
		b.notDone(w, r, http.StatusServiceUnavailable, "Not taken", fmt.Sprintf("%d other drafts are coming in just now, which is as many as are taken at once. Nothing of yours was kept: drop it again in a moment", uploadsAtOnce))
		return
	}
	if err := r.ParseMultipartForm(uploadLimit); err != nil {
		status, text := web.BodyFault(err, uploadLimit)
		b.notDone(w, r, status, "Not taken", "the draft: "+text+"; or put it into the folder of the inbox instead")
		return
	}
	if !b.web.Inside(r) {
		b.notDone(w, r, http.StatusUnauthorized, "Not taken", "this browser was withdrawn while the draft came")
		return
	}
	got, err := b.take(r)
	if err != nil {
		text := err.Error()
		if len(got.Names) > 0 {
			text = fmt.Sprintf("%s lies in the folder of %s and becomes a job; of the others nothing was kept: %s", strings.Join(got.Names, ", "), got.Device, text)
		}
		b.dropAgain(w, r, err, text)
		return
	}
	b.show(w, r, "Dropped", "dropped.html", got, nil)
}

// dropped are files in the inbox: jobs of their own, or Names[0] with the others as one job.
type dropped struct {
	Device string
	Names  []string
	One    bool
}

// mostDropped bounds the drafts of one upload; the ticket bounds the drafts that it names.
const mostDropped = 50

func (b *Board) take(r *http.Request) (out dropped, err error) {
	room := b.o.Room()
	out.Device = r.PostFormValue("device")
	if !slices.Contains(room.DeviceNames(), out.Device) { // only a known name becomes a folder
		return out, dropping.NewAtField(room.NoDevice(out.Device), "device")
	}
	files, err := draftsOf(r.MultipartForm.File["draft"])
	if err != nil {
		return out, dropping.NewAtField(err, "draft")
	}
	ticket, err := dropping.TicketForm(room).Written(r.PostForm)
	if err != nil {
		return out, err
	}
	out.One = len(files) > 1 && r.PostFormValue("as") == "one"
	if out.One {
		if files, ticket, err = asOneJob(files, ticket); err != nil {
			return out, dropping.NewAtField(err, "ticket")
		}
	} else if named := pattern.WithOf(ticket); len(files) > 1 {
		for _, f := range files {
			if slices.Contains(named, f.Name) {
				return out, dropping.NewAtField(fmt.Errorf("the ticket names %s under with:, and that is dropped as a job of its own too: choose one job of all, or take it out of the ticket", f.Name), "ticket")
			}
		}
	}
	if err := inbox.Waits(store.Disk{}, dropping.Folder(room, out.Device), files...); err != nil { // before the first of several is written
		return out, dropping.NewAtField(err, "draft")
	}
	put := func(f inbox.Dropped, with ...inbox.Dropped) error {
		return dropping.Put(b.o.Jobs, room, out.Device, web.SessionOf(r).Who, f, ticket, with...)
	}
	if out.One {
		if err := put(files[0], files[1:]...); err != nil {
			return out, err
		}
	}
	for _, f := range files {
		if !out.One {
			if err := put(f); err != nil {
				return out, err
			}
		}
		out.Names = append(out.Names, f.Name)
	}
	return out, nil
}

// draftsOf reads the uploaded drafts, under plain names, none twice.
func draftsOf(heads []*multipart.FileHeader) (files []inbox.Dropped, err error) {
	switch n := len(heads); {
	case n == 0:
		return nil, errors.New("no draft came with it; choose a file first")
	case n > mostDropped:
		return nil, fmt.Errorf("these are %d drafts, and at most %d are taken at once. Nothing was kept: drop fewer", n, mostDropped)
	}
	for i, h := range heads {
		name, err := draftName(h.Filename)
		if err != nil {
			return nil, err
		}
		for k, f := range files {
			if strings.EqualFold(f.Name, name) {
				return nil, fmt.Errorf("two of the drafts would both be called %s here (%q and %q). Nothing was kept: give one of them another name and drop all again", name, heads[k].Filename, heads[i].Filename)
			}
		}
		data, err := readPart(h)
		if err != nil {
			return nil, fmt.Errorf("%s came only in part: %w", name, err)
		}
		files = append(files, inbox.Dropped{Name: name, Data: data})
	}
	return files, nil
}

func readPart(h *multipart.FileHeader) ([]byte, error) {
	f, err := h.Open()
	if err != nil {
		return nil, err
	}
	defer f.Close() //nolint:errcheck // read only
	return io.ReadAll(f)
}

// asOneJob puts the draft with the ticket first and lists all others in the ticket. Where the ticket lists drafts
// already, it must list all but one, which is the first.
func asOneJob(files []inbox.Dropped, ticket []byte) ([]inbox.Dropped, []byte, error) {
	named := pattern.WithOf(ticket)
	if len(named) == 0 {
		ticket = append(ticket, "with:\n"...)
		for _, f := range files[1:] {
			ticket = fmt.Appendf(ticket, "  - %s\n", f.Name) // of letters, digits, - and _ by draftName
		}
		if named = pattern.WithOf(ticket); len(named) == 0 {
			return nil, nil, errors.New("the drafts cannot be added to the ticket as it is written: write each thing that it says in a line of its own, such as copies: 2, without brackets round the whole")
		}
	}
	var own, others []inbox.Dropped
	var left []string
	for _, f := range files {
		if slices.Contains(named, f.Name) {
			others = append(others, f)
		} else {
			own, left = append(own, f), append(left, f.Name)
		}
	}
	if len(own) != 1 {
		what := "all of them"
		if len(left) > 0 {
			what = "all but " + strings.Join(left, ", ")
		}
		return nil, nil, fmt.Errorf("the ticket names, of the drafts dropped with it, %s under with:, and it must name all but the one that it belongs to; the drafts are called %s here", what, strings.Join(namesOf(files), ", "))
	}
	return append(own, others...), ticket, nil
}

func namesOf(files []inbox.Dropped) (names []string) {
	for _, f := range files {
		names = append(names, f.Name)
	}
	return names
}

// draftName makes a plain name of the browser's name of a file, from its last part.
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
	base = cmp.Or(strings.Trim(base, "-"), "draft")
	return base[:min(len(base), 80)] + ext, nil
}

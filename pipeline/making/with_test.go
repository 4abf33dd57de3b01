package making

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/devices/hpgl"
	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

const square200 = `<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="300mm" viewBox="0 0 300 300"><g data-piece="square" data-quantity="1"><rect class="cut" x="0" y="0" width="200" height="200"/></g></svg>`

// withDrafts lays files into a folder and asks for the first of them, with a ticket.
func withDrafts(t *testing.T, ticket string, files ...string) Request {
	t.Helper()
	dir := t.TempDir()
	for i := 0; i < len(files); i += 2 {
		if err := os.WriteFile(filepath.Join(dir, files[i]), []byte(files[i+1]), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return Request{Name: filepath.Join(dir, files[0]), Source: []byte(files[1]), Ticket: []byte(ticket), Answers: map[string]string{}}
}

// TestBodiesAndDraftsOfATicket: on each kind of device a draft for two bodies and a drawing that the ticket names are one
// lay: each body's pieces are those that the draft has when it is made for that body alone, and the copies of one draft are
// its own. Nothing lies on anything else.
func TestBodiesAndDraftsOfATicket(t *testing.T) {
	smock := string(samples.Read("ferry-smock.yaml"))
	for _, device := range []string{"roll-plotter", "knife-table"} {
		room := wideRoom()
		d := room.Devices[device]
		d.Length = max(d.Length, 6000)
		room.Devices[device] = d
		lies := room.Materials[d.Material]
		lies.Length = 0
		room.Materials[d.Material] = lies
		m := New(room)
		areas := func(body string) (out []string) {
			r := withDrafts(t, "body: "+body+"\n", "smock.yaml", smock)
			r.Device = device
			w, err := m.Make(t.Context(), r)
			if err != nil || w.Refused || w.Hold != "" {
				t.Fatal(device, body, err, w.Reason, w.Hold)
			}
			for _, p := range wholeOf(t, w).Ready {
				out = append(out, fmt.Sprintf("%s %s %.0f", p.Name, p.Size, math.Abs(p.Outline.SignedArea())))
			}
			return out
		}
		want := append(areas("A"), areas("B")...)
		copies := 2
		if m.Room.Devices[device].Kind.Cuts() {
			want = append(want, "square  40000")
		}
		want = append(want, "square  40000")
		r := withDrafts(t, fmt.Sprintf("bodies: [A, B]\nallowance: included\nwith: [{file: square.svg, copies: %d}]\n", copies), "smock.yaml", smock, "square.svg", square200)
		r.Device = device
		work, err := m.Make(t.Context(), r)
		if err != nil || work.Refused || work.Hold != "" {
			t.Fatal(device, err, work.Reason, work.Hold)
		}
		w := wholeOf(t, work)
		var got []string
		garments := map[int]string{}
		for _, p := range w.Ready {
			got = append(got, fmt.Sprintf("%s %s %.0f", p.Name, p.Size, math.Abs(p.Outline.SignedArea())))
			if was, is := garments[p.Garment]; is && was != p.Size {
				t.Errorf("%s: garment %d has pieces of %q and %q", device, p.Garment, was, p.Size)
			}
			garments[p.Garment] = p.Size
			if called := w.Pattern.Pieces[p.Index].Name; called != p.Name {
				t.Errorf("%s: %s stands at the place of %s", device, p.Name, called)
			}
		}
		if !slices.Equal(got, want) {
			t.Errorf("%s has\n%s\nnot\n%s", device, strings.Join(got, "\n"), strings.Join(want, "\n"))
		}
		var laid []geom.Path
		for _, p := range w.Lay.Placements {
			o := w.Ready[p.Ready].Outline.Apply(p.Map)
			for _, q := range laid {
				if len(geom.Crossings(o, q)) > 0 || q.Contains(o.Points[0]) || o.Contains(q.Points[0]) {
					t.Errorf("%s: %s lies on another piece", device, w.Ready[p.Ready].Name)
				}
			}
			laid = append(laid, o)
		}
		if device == "roll-plotter" {
			read, err := hpgl.Read(w.Program.Bytes(), hpgl.OptionsFor(w.Profile))
			if err != nil || len(read.Errors()) > 0 {
				t.Fatal(err, read.Errors())
			}
			squares := 0
			for _, tr := range read.Traces {
				if tr.Path.Closed && math.Abs(math.Abs(tr.Path.SignedArea())-40000) < 20 {
					squares++
				}
			}
			if squares != 1 {
				t.Errorf("the plot has %d squares", squares)
			}
		}
		set, _, err := m.labelSet(t.Context(), []Request{r})
		if err != nil {
			t.Fatal(err)
		}
		of := map[string]int{}
		for _, p := range set.Pieces {
			of[p.Style+", "+p.Whose]++
		}
		if of["square, "] != copies || of["Ferry-hand's smock, for A"] == 0 || of["Ferry-hand's smock, for A"] != of["Ferry-hand's smock, for B"] {
			t.Errorf("%s: labels of %v", device, of)
		}
	}
}

// TestWithIsToldByItsDraft: what is wrong with one of several drafts is told with its name, on its piece; what the ticket
// says for all holds where a draft has it.
func TestWithIsToldByItsDraft(t *testing.T) {
	open := strings.Replace(square200, `<rect class="cut" x="0" y="0" width="200" height="200"/>`, `<polyline class="cut" points="0,0 200,0 200,200 0,200 0,60"/>`, 1)
	open = strings.Replace(open, `"square"`, `"flap"`, 1)
	sized := strings.Replace(square200, `data-quantity`, `data-size="38" data-quantity`, 1)
	for _, c := range []struct {
		ticket, other string
		want          string
		pieces        int
	}{
		{"allowance: included\nwith: [other.svg]\n", open, "other.svg: ", 0},
		{"allowance: included\nwith: [third.svg]\n", open, `the ticket names third.svg under with:, and there is no draft "third.svg" beside the draft or in the workroom's folder drafts`, 0},
		{"allowance: included\nwith: [{file: other.svg, body: B}]\n", square200, "other.svg is no measured draft, and the ticket names a body for it", 0},
		{"allowance: included\nwith: [square.svg]\n", square200, "the ticket names square.svg under with:, and that is the draft it belongs to", 0},
		{"allowance: included\nwith: [../other.svg]\n", square200, `"../other.svg" is no name of a draft`, 0},
		{"allowance: included\nwith: [{fil: other.svg}]\n", square200, "with[0].fil: there is no such key; did you mean file?", 0},
		{"allowance: included\npieces: [square, cuff]\nwith: [other.svg]\n", square200, `piece "cuff" is wanted, and none of the drafts has it`, 0},
		{"allowance: included\nbody: A\nbodies: [A, B]\n", square200, "say body: for one body or bodies: for several, not both", 0},
		{"allowance: included\nsizes: [38]\nwith: [other.svg]\n", sized, "", 2},
		{"allowance: included\npieces: [flap]\nwith: [other.svg]\n", strings.Replace(square200, `"square"`, `"flap"`, 1), "", 1},
		{"allowance: included\nwith: [other.svg, {file: other.svg, copies: 3}]\n", square200, "", 3},
	} {
		r := withDrafts(t, c.ticket, "square.svg", square200, "other.svg", c.other)
		r.Device = "roll-plotter"
		w, err := New(wideRoom()).Make(t.Context(), r)
		if err != nil {
			t.Fatal(err)
		}
		said := w.Reason
		if w.Refused != (c.want != "") || !strings.Contains(said, c.want) || w.Pieces() != c.pieces {
			t.Errorf("%q: refused %v, %q, %d pieces", c.ticket, w.Refused, said, w.Pieces())
		}
		if c.want == "other.svg: " {
			i := slices.IndexFunc(w.Findings, func(f pattern.Finding) bool { return f.Severity == pattern.Error })
			if f := w.Findings[i]; f.Piece != "flap" || w.Pattern.Pieces[f.Index].Name != "flap" {
				t.Errorf("told of %q, %d", f.Piece, f.Index)
			}
		}
	}
}

// TestPiecesNameTheirGarment: the pieces of a job of several drafts, to be ticked and to be made again, say of which garment
// they are; none is merged with the like piece of another.
func TestPiecesNameTheirGarment(t *testing.T) {
	r := withDrafts(t, "with: [{file: cap.svg, copies: 2}]\n", "bag.svg", square200, "cap.svg", square200)
	r.Device = "knife-table"
	w, err := New(wideRoom()).Make(t.Context(), r)
	if err != nil || w.Refused || w.Hold != "" {
		t.Fatal(err, w.Reason, w.Hold)
	}
	var ticked, again []string
	for _, p := range w.names() {
		ticked = append(ticked, fmt.Sprintf("%s %d", p.Name, p.Quantity))
	}
	for _, c := range w.copies() {
		again = append(again, c.Name)
	}
	if want := []string{"bag: square 1", "cap 1: square 1", "cap 2: square 1"}; !slices.Equal(ticked, want) {
		t.Errorf("%q, not %q", ticked, want)
	}
	if want := []string{"bag: square", "cap 1: square, 1 of 2", "cap 2: square, 2 of 2"}; !slices.Equal(again, want) {
		t.Errorf("%q, not %q", again, want)
	}
}

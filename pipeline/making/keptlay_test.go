package making

import (
	"bytes"
	"os"
	"strings"
	"testing"

	"tracewheel/config"
	"tracewheel/pipeline/lay"
)

// TestKeptLayIsRead: a job with a lay of its own is laid by it to the last bit and never searched for, whatever the
// search would give; of other pieces, or on another material, it is laid anew and says so.
func TestKeptLayIsRead(t *testing.T) {
	source, err := os.ReadFile("../../testdata/drafts/satchel-bulge.dxf")
	if err != nil {
		t.Fatal(err)
	}
	room := *Sample()
	m := &Maker{Room: &room}
	draft := Request{Job: 7, Name: "satchel-bulge.dxf", Device: "knife-table", Source: source}
	first := made(t, m, draft)
	lies := first.lies(first.Ticket)
	other, found := lay.OnMachine(t.Context(), first.Ready, lies, lay.Options{Seed: 1})
	if len(found) > 0 {
		t.Fatal(found)
	}
	for i := range other.Placements { // no search puts the pieces there
		p := &other.Placements[i]
		p.Map.E += 17
	}
	other.LengthUsed += 17
	kept, err := lay.Keep(other, first.Ready, lies)
	if err != nil {
		t.Fatal(err)
	}
	draft.Lay, draft.Waits = kept, true
	again := made(t, m, draft)
	if len(again.Lay.Placements) != len(first.Lay.Placements) {
		t.Fatalf("%d placements", len(again.Lay.Placements))
	}
	for i, p := range again.Lay.Placements {
		if p.Ready != other.Placements[i].Ready || p.Map != other.Placements[i].Map {
			t.Errorf("piece %d lies at %v, and was kept at %v", i, p.Map, other.Placements[i].Map)
		}
	}
	if !bytes.Equal(again.Kept, kept) || bytes.Equal(again.Program.Bytes(), first.Program.Bytes()) || len(again.Notes) != len(first.Notes) {
		t.Errorf("the lay that was read is kept as another, or the program is not made by it; notes %q", again.Notes)
	}
	draft.Job = 8 // as again makes it: its number stands in the letters
	if !bytes.Equal(made(t, m, draft).Kept, kept) {
		t.Error("made again it lies otherwise")
	}

	anew := func(name string, m *Maker, r Request) {
		t.Helper()
		w := made(t, m, r)
		if bytes.Equal(w.Kept, kept) || !strings.Contains(strings.Join(w.Notes, "; "), "laid anew: ") {
			t.Errorf("%s: laid by a lay that is none for it; notes %q", name, w.Notes)
		}
	}
	draft.Waits = false
	wide := room
	wide.Materials = map[string]config.Material{}
	for name, is := range room.Materials {
		is.Gap++
		wide.Materials[name] = is
	}
	anew("other material", &Maker{Room: &wide}, draft)
	twice := draft
	twice.Ticket = []byte("copies: 2\n")
	anew("other pieces", m, twice)
	torn := draft
	torn.Lay = kept[:len(kept)/2]
	anew("half a file", m, torn)
}

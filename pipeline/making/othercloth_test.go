package making

import (
	"slices"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/pattern"
)

// TestPiecesOfAnotherCloth: a draft that names a cloth and is cut from another is made with a warning that names both.
// A pen, the cloth that is named and a draft that names none are not warned of.
func TestPiecesOfAnotherCloth(t *testing.T) {
	room := Sample()
	canvas := room.Materials["calico"]
	room.Materials["canvas"] = canvas
	roll, cap := string(samples.Read("tool-roll.yaml")), string(samples.Read("section-cap.yaml"))
	const all = "the draft names canvas for its pieces panel, pocket strip, strap, hanging loop; "
	for _, c := range []struct {
		device, ticket string
		files          []string
		want           string
	}{
		{"knife-table", "body: T1\n", []string{"roll.yaml", roll}, all + "this device's material is calico"},
		{"knife-table", "body: T1\nmaterial: calico\n", []string{"roll.yaml", roll}, all + "the ticket has them cut from calico"},
		{"knife-table", "body: T1\npieces: [strap]\n", []string{"roll.yaml", roll}, "the draft names canvas for its piece strap; this device's material is calico"},
		{"knife-table", "body: T1\nmaterial: canvas\n", []string{"roll.yaml", roll}, ""},
		{"roll-plotter", "body: T1\n", []string{"roll.yaml", roll}, ""},
		{"knife-table", "body: A\n", []string{"cap.yaml", cap}, ""},
	} {
		r := withDrafts(t, c.ticket, c.files...)
		r.Device = c.device
		w, err := New(room).Make(t.Context(), r)
		if err != nil || w.Refused || w.Hold != "" {
			t.Errorf("%s on %s: %v, %s%s", c.ticket, c.device, err, w.Reason, w.Hold)
			continue
		}
		if got := pattern.OtherCloth(w.Findings); got != c.want {
			t.Errorf("%s on %s: %q, want %q", c.ticket, c.device, got, c.want)
		}
		i := slices.IndexFunc(w.Findings, func(f pattern.Finding) bool { return f.Rule == pattern.RuleOtherCloth })
		if c.want != "" && (w.Findings[i].Severity != pattern.Warning || !strings.Contains(w.Findings[i].Mend, "material: canvas")) {
			t.Errorf("%+v", w.Findings[i])
		}
	}
}

// TestNoMaterialOfThatName: a ticket that the advice gives is taken: it says material: only where the workroom has one of
// that name, and the line of pieces that is given chooses them.
func TestNoMaterialOfThatName(t *testing.T) {
	roll := string(samples.Read("tool-roll.yaml"))
	for ticket, want := range map[string]string{"body: T1\n": "add canvas to the materials of the workroom file", "body: T1\npieces: [strap]\n": "add canvas to the materials"} {
		r := withDrafts(t, ticket, "roll.yaml", roll)
		r.Device = "knife-table"
		w, err := New(Sample()).Make(t.Context(), r)
		if err != nil {
			t.Fatal(err)
		}
		i := slices.IndexFunc(w.Findings, func(f pattern.Finding) bool { return f.Rule == pattern.RuleOtherCloth })
		if i < 0 || !strings.Contains(w.Findings[i].Mend, want) {
			t.Errorf("%s: %+v", ticket, w.Findings)
		}
	}
	const own = `<svg xmlns="http://www.w3.org/2000/svg" width="900mm" height="300mm" viewBox="0 0 900 300"><g data-piece="collar: upper" data-quantity="1" data-material="interfacing"><rect class="cut" x="0" y="0" width="200" height="200"/></g>` +
		`<g data-piece="tie" data-quantity="1"><rect class="cut" x="600" y="0" width="200" height="50"/></g></svg>`
	r := withDrafts(t, "allowance: included\nmaterial: calico\n", "own.svg", own)
	r.Device = "knife-table"
	w, err := New(Sample()).Make(t.Context(), r)
	if err != nil {
		t.Fatal(err)
	}
	i := slices.IndexFunc(w.Findings, func(f pattern.Finding) bool { return f.Rule == pattern.RuleOtherCloth })
	if i < 0 {
		t.Fatalf("not told what is left out: %+v", w.Findings)
	}
	_, line, _ := strings.Cut(w.Findings[i].Mend, "a ticket that says ")
	line, _, _ = strings.Cut(line, ", and the body")
	r = withDrafts(t, "allowance: included\n"+line+"\n", "own.svg", own)
	r.Device = "knife-table"
	if w, err = New(Sample()).Make(t.Context(), r); err != nil || w.Refused || w.Hold != "" || w.Pieces() != 1 || w.Program.Names[0] != "collar: upper" {
		t.Errorf("a ticket of %q: %v, %s%s, %d pieces", line, err, w.Reason, w.Hold, w.Pieces())
	}
}

// TestOneClothOfSeveral: of a draft that is cut from several cloths a cutter's job has the pieces of one, by what a person
// answers, else by the ticket's material, else by the device's; where none of them tells, it asks. A piece is chosen again
// by its number among those. A pen draws them all, and so does a cutter whose workroom does not ask.
func TestOneClothOfSeveral(t *testing.T) {
	const own = `<svg xmlns="http://www.w3.org/2000/svg" width="900mm" height="300mm" viewBox="0 0 900 300"><g data-piece="bag" data-quantity="1" data-material="canvas"><rect class="cut" x="0" y="0" width="200" height="200"/></g>` +
		`<g data-piece="lid" data-quantity="1" data-material="lining"><rect class="cut" x="300" y="0" width="200" height="200"/></g><g data-piece="tie" data-quantity="1"><rect class="cut" x="600" y="0" width="200" height="50"/></g></svg>`
	room := Sample()
	room.Materials["canvas"] = room.Materials["calico"]
	roll, cap := string(samples.Read("tool-roll.yaml")), string(samples.Read("section-cap.yaml"))
	const asks = "release it with --cloth canvas or --cloth lining or --cloth main, and then make the job again for the others"
	for _, c := range []struct {
		device, ticket, said string
		pieces, hold, left   string
		files                []string
	}{
		{"knife-table", "", "", "", asks, "", []string{"own.svg", own}},
		{"knife-table", "", "wool", "", "the answer --cloth wool cannot be taken", "", []string{"own.svg", own}},
		{"knife-table", "", "lining", "lid", "", "canvas (bag), main (tie)", []string{"own.svg", own}},
		{"knife-table", "material: canvas\n", "", "bag", "", "lining (lid), main (tie)", []string{"own.svg", own}},
		{"knife-table", "material: canvas\n", "main", "tie", "", "canvas (bag), lining (lid)", []string{"own.svg", own}},
		{"knife-table", "material: calico\n", "", "tie", "", "canvas (bag), lining (lid)", []string{"own.svg", own}},
		{"knife-table", "pieces: [bag, lid]\n", "lining", "lid", "", "canvas (bag)", []string{"own.svg", own}},
		{"knife-table", "pieces: [lid]\n", "", "lid", "", "", []string{"own.svg", own}},
		{"roll-plotter", "", "", "bag lid tie", "", "", []string{"own.svg", own}},
		{"knife-table", "body: A\nwith: [{file: roll.yaml, body: T1, pieces: [strap, panel]}]\n", "canvas", "panel panel strap strap", "", "main (", []string{"cap.yaml", cap, "roll.yaml", roll}},
	} {
		if c.files[0] == "own.svg" {
			c.ticket += "allowance: included\n"
		}
		r := withDrafts(t, c.ticket, c.files...)
		r.Device, r.Answers[answers.Cloth] = c.device, c.said
		w, err := New(room).Make(t.Context(), r)
		if err != nil || w.Refused || w.Hold != "" && c.hold == "" || !strings.Contains(w.Hold, c.hold) {
			t.Errorf("%s on %s, answer %q: %v, %s%s", c.ticket, c.device, c.said, err, w.Reason, w.Hold)
			continue
		}
		var made []string
		ready, _ := w.Prepared()
		for _, p := range ready.Ready {
			made = append(made, p.Name)
		}
		slices.Sort(made)
		if got := strings.Join(made, " "); got != c.pieces && c.hold == "" {
			t.Errorf("%s on %s, answer %q: made are %q, want %q", c.ticket, c.device, c.said, got, c.pieces)
		}
		told, mend := "", ""
		for _, f := range w.Findings {
			if f.Rule == pattern.RuleOtherCloth && f.Severity == pattern.Note {
				told, mend = f.Message, f.Mend
			}
		}
		// of the cloths here the workroom has a material of one name: canvas
		if says := strings.Contains(mend, "material: canvas"); says != strings.Contains(c.left, "canvas (") || strings.Count(mend, "material:") > 1 ||
			strings.Contains(c.left, "tie") && !strings.Contains(mend, "pieces: [tie]") || strings.Contains(c.left, "lid") && !strings.Contains(mend, "pieces: [lid]") {
			t.Errorf("%s on %s, answer %q: the mend is %q", c.ticket, c.device, c.said, mend)
		}
		if !strings.Contains(told, c.left) || c.left == "" && told != "" {
			t.Errorf("%s on %s, answer %q: told is %q, want %q", c.ticket, c.device, c.said, told, c.left)
		}
	}
	r := withDrafts(t, "allowance: included\nmaterial: canvas\ncopies: 2\n", "own.svg", own)
	r.Device, r.Answers[answers.Pieces] = "knife-table", "2"
	w, err := New(room).Make(t.Context(), r)
	if err != nil {
		t.Fatal(err)
	}
	if p, _ := w.Prepared(); len(p.Ready) != 1 || p.Ready[0].Name != "bag" || p.Ready[0].Copy != 2 {
		t.Errorf("the second bag alone: %+v", p.Ready)
	}
	room.Checks = map[string]string{pattern.RuleOtherCloth: "off"}
	r = withDrafts(t, "allowance: included\n", "own.svg", own)
	r.Device = "knife-table"
	if w, err = New(room).Make(t.Context(), r); err != nil || w.Pieces() != 3 {
		t.Errorf("a workroom that does not ask: %v, %d pieces, %s", err, w.Pieces(), w.Hold)
	}
}

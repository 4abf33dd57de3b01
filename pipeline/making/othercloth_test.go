package making

import (
	"slices"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/pattern"
)

// TestPiecesOfAnotherCloth: a draft that names a cloth and is cut from another is made with a warning that names both, also
// where it is one of several drafts; a pen, the cloth that is named and a draft that names none are not warned of.
func TestPiecesOfAnotherCloth(t *testing.T) {
	room := Sample()
	canvas := room.Materials["calico"]
	room.Materials["canvas"] = canvas
	roll, cap := string(samples.Read("tool-roll.yaml")), string(samples.Read("section-cap.yaml"))
	const all = "the draft names canvas for its pieces panel, pocket strip, strap, hanging loop; "
	const own = `<svg xmlns="http://www.w3.org/2000/svg" width="900mm" height="300mm" viewBox="0 0 900 300"><g data-piece="bag" data-quantity="1" data-material="canvas"><rect class="cut" x="0" y="0" width="200" height="200"/></g>` +
		`<g data-piece="lid" data-quantity="1" data-material="lining"><rect class="cut" x="300" y="0" width="200" height="200"/></g><g data-piece="tie" data-quantity="1"><rect class="cut" x="600" y="0" width="200" height="50"/></g></svg>`
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
		{"knife-table", "allowance: included\n", []string{"own.svg", own}, "the draft names canvas for its piece bag, and lining for its piece lid; this device's material is calico"},
		{"knife-table", "body: A\nwith: [{file: roll.yaml, body: T1, pieces: [strap, panel]}]\n", []string{"cap.yaml", cap, "roll.yaml", roll},
			"the drafts name canvas for the pieces panel, strap; this device's material is calico"},
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

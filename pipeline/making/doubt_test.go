package making

import (
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/control/answers"
)

// What is doubtful in a measured draft holds the job until a person answers, and the answer is heard.
func TestDoubtsOfMeasuredDrafts(t *testing.T) {
	smock := string(samples.Read("ferry-smock.yaml"))
	for _, c := range []struct {
		name, from, to string
		answers        map[string]string
		asks           string
		wide           float64 // of the unfolded back's hem: half is 289.469 and 329.377 mm (computed with the garments)
	}{
		{"nobody says which body", "body: A ", "#", nil, "release it with --body A or --body B", 0},
		{"a person says B", "body: A ", "#", map[string]string{"body": "B"}, "", 2 * 329.377},
		{"hip in inches", "hip: 98", "hip: 39", nil, "39 in would be usual: was it taken in inches?; take the measure once more; if it is right, release the job with --as-measured", 0},
		{"a person says it is right", "hip: 98", "hip: 39", map[string]string{answers.AsMeasured: "yes"}, "", 2 * 289.469},
	} {
		text := strings.Replace(smock, c.from, c.to, 1)
		h := &Maker{Room: Sample()}
		w, err := h.Make(t.Context(), Request{Name: "smock.yaml", Source: []byte(text), Device: "roll-plotter", Answers: c.answers})
		if err != nil {
			t.Fatal(err)
		}
		if c.asks != "" {
			if !strings.Contains(w.Hold, c.asks) {
				t.Errorf("%s: asks %q", c.name, w.Hold)
			}
			continue
		}
		if w.Hold != "" || w.Refused {
			t.Errorf("%s: hold %q, refused %v", c.name, w.Hold, w.Refused)
			continue
		}
		for _, p := range w.Pattern.Pieces {
			if b := p.Sew; p.Name == "back" {
				if got := b[0].Bound(); 2*(got.Max[0]-got.Min[0]) < c.wide-0.02 || 2*(got.Max[0]-got.Min[0]) > c.wide+0.02 {
					t.Errorf("%s: the back is %.3f mm wide, want %.3f", c.name, 2*(got.Max[0]-got.Min[0]), c.wide)
				}
			}
		}
	}
}

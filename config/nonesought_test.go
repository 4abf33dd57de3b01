package config_test

import (
	"strings"
	"testing"

	"tracewheel/config"
)

// TestNoneSought: a search by a device or a material that the workroom has not names the nearest; a part of a material's name
// is enough, in letters of any size.
func TestNoneSought(t *testing.T) {
	room := &config.Workroom{Devices: map[string]config.Device{"roll-plotter": {}}, Materials: map[string]config.Material{"calico": {}, "velvet": {}}}
	for _, c := range []struct{ device, material, want string }{
		{"", "", ""}, {"roll-plotter", "calico", ""}, {"", "VELV", ""},
		{"rol-plotter", "", `there is no device "rol-plotter" in the workroom; it has roll-plotter; did you mean "roll-plotter"?`},
		{"", "calicoo", `the workroom has no material "calicoo", only calico, velvet; did you mean "calico"?`},
		{"roll-plotter", "silk", `the workroom has no material "silk", only calico, velvet`},
	} {
		said := ""
		if err := room.NoneSought(c.device, c.material); err != nil {
			said = err.Error()
		}
		if said != c.want {
			t.Errorf("%q, %q: %q instead of %q", c.device, c.material, said, c.want)
		}
	}
	if err := (&config.Workroom{}).NoDevice("roll-plotter"); !strings.HasSuffix(err.Error(), "it has none") {
		t.Error(err)
	}
}

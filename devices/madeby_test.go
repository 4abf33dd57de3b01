package devices

import "testing"

// TestChanged: what has changed since a program was made is named, all of it and nothing else.
func TestChanged(t *testing.T) {
	was := Program{Setting: &Setting{BladeOffset: 0.5}, MadeBy: map[string]string{"devices: knife-table": "1", "materials: calico": "2", "sewing": "3", Itself: "v1"}}
	with := func(offset float64, change map[string]string) Program {
		p := Program{Setting: &Setting{BladeOffset: offset}, MadeBy: map[string]string{"devices: knife-table": "1", "materials: calico": "2", "sewing": "3", Itself: "v1"}}
		for k, v := range change {
			p.MadeBy[k] = v
		}
		return p
	}
	const unknown = "the workroom file, what was measured of the device, or tracewheel itself has changed since"
	for want, now := range map[string]Program{
		"the workroom file has changed since (sewing)":                                                        with(0.5, map[string]string{"sewing": "9"}),
		"the workroom file has changed since (devices: knife-table, materials: calico)":                       with(0.5, map[string]string{"devices: knife-table": "9", "materials: calico": ""}),
		"what was measured of the device has changed since":                                                   with(0.6, nil),
		"tracewheel itself is another version since":                                                          with(0.5, map[string]string{Itself: "v2"}),
		"the workroom file has changed since (sewing), and what was measured of the device has changed since": with(0.6, map[string]string{"sewing": "9"}),
		unknown: with(0.5, nil),
	} {
		if got := was.Changed(now); got != want {
			t.Errorf("said is %q, not %q", got, want)
		}
	}
	if got := (Program{}).Changed(was); got != unknown {
		t.Errorf("of a program of before: %q", got)
	}
}

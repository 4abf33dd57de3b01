package testsquare

import (
	"encoding/xml"
	"fmt"
	"strconv"
	"strings"
	"testing"
	"time"

	"tracewheel/devices"
)

// TestDriftPicture reads the picture with encoding/xml: the marks of x rise where the device draws longer, a withdrawn
// calibration and a blade are left out; a single one is shown against zero, the true size.
func TestDriftPicture(t *testing.T) {
	at := time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)
	entry := func(no, days int, tooLong float64) Calibrated {
		return Calibrated{No: no, At: at.AddDate(0, 0, days), Result: Result{Correction: devices.Correction{ScaleX: 1 / (1 + tooLong/100), ScaleY: 1}}}
	}
	c := &Calibrations{Device: "roll", Entries: []Calibrated{entry(1, 0, 0.1)}}
	if got := c.driftPicture(c.InForce()); strings.Count(got, "<circle") != 2 || !strings.Contains(got, ">+0.10 %<") { // one mark, one in the legend
		t.Errorf("the first calibration alone: %s", got)
	}
	if got := (&Calibrations{Device: "roll"}).driftPicture(&c.Entries[0]); got != "" {
		t.Errorf("no calibration: %s", got)
	}
	gone, blade, offset := entry(2, 5, 9), entry(3, 6, 9), 0.4
	gone.Withdrawn, blade.Blade = &Withdrawal{}, &offset
	c.Entries = append(c.Entries, gone, blade, entry(4, 10, 0.4), entry(5, 40, -0.2))
	d := xml.NewDecoder(strings.NewReader(c.driftPicture(c.InForce())))
	var down, along []float64
	rules := map[string]float64{}
	rule := 0.0
	for {
		tok, err := d.Token()
		if err != nil {
			if err.Error() != "EOF" {
				t.Fatal(err)
			}
			break
		}
		switch e := tok.(type) {
		case xml.StartElement:
			for _, a := range e.Attr {
				if e.Name.Local == "polyline" && a.Name.Local == "points" && along == nil {
					for _, p := range strings.Fields(a.Value) {
						x, y, _ := strings.Cut(p, ",")
						for s, into := range map[string]*[]float64{x: &along, y: &down} {
							v, err := strconv.ParseFloat(s, 64)
							if err != nil {
								t.Fatal(err)
							}
							*into = append(*into, v)
						}
					}
				}
				if e.Name.Local == "path" && a.Name.Local == "d" {
					_, _ = fmt.Sscanf(a.Value, "M64 %f", &rule)
				}
			}
		case xml.CharData:
			rules[string(e)] = rule
		}
	}
	if len(down) != 3 {
		t.Fatalf("%d marks of x, want 3", len(down))
	}
	if got, want := (along[2]-along[0])/(along[1]-along[0]), 4.0; got < want-0.02 || got > want+0.02 {
		t.Errorf("40 days lie %.3f times as far as 10", got)
	}
	perPercent := (rules["0 %"] - rules["+0.40 %"]) / 0.4
	for i, want := range []float64{0.1, 0.4, -0.2} {
		if got := (rules["0 %"] - down[i]) / perPercent; got < want-0.005 || got > want+0.005 {
			t.Errorf("mark %d stands at %.3f %%, want %.1f", i+1, got, want)
		}
	}
}

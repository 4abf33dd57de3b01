package testsquare

import (
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/devices/calibration"
)

// TestReadingsInCentimetres: in a workroom of cm a reading without a unit is cm, and results are in cm: a side of 50
// cm read as 50.2 is drawn 0.4 % too long, 0.4 cm on a metre (1 m = 100 cm).
func TestReadingsInCentimetres(t *testing.T) {
	f := NewForm(Order{No: 1, Plot: calibration.Plot{Width: 500, Height: 500, Places: make([]orb.Point, 1)}}, 0.5, 1, "cm")
	if err := f.Sides("50.2,50.2,50.2,50.2"); err != nil {
		t.Fatal(err)
	}
	if err := f.Diagonals("71,71"); err != nil {
		t.Fatal(err)
	}
	if got := f.Read(Question{Square: 1, Side: calibration.Bottom}); len(got) != 1 || got[0] != 502 {
		t.Errorf("50.2 is read as %v mm", got)
	}
	if got := f.Length(707.1); got != "70.71 cm" {
		t.Errorf("told as %q", got)
	}
	r, err := f.Solve()
	if err != nil {
		t.Fatal(err)
	}
	text := strings.Join(strings.Fields(f.Text(r)), " ")
	for _, want := range []string{"0.40 % too long +0.40 cm 0.05 %, 0.05 cm on a metre", "wanted cm read", "bottom 50.00 50.200"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in %s", want, text)
		}
	}
}

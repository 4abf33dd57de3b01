package checked

import "testing"

// TestPieceLine: lengths stand in the workroom's unit, inches as fractions (1 in = 25.4 mm), and nothing
// stands behind a point that says nothing.
func TestPieceLine(t *testing.T) {
	least, most := 9.525, 15.875
	p := Piece{Name: "FRONT", Width: 254, Height: 641.35, Area: 254 * 641.35, Notches: 1, Cut: "cut 1", AllowanceMin: &least, AllowanceMax: &most}
	for unit, want := range map[string]string{
		"in": "FRONT: 10 by 25 1/4 in, 252 sq in, 1 notch, cut 1, allowance 3/8 to 5/8 in",
		"mm": "FRONT: 254 by 641.4 mm, 1629 sq cm, 1 notch, cut 1, allowance 9.5 to 15.9 mm",
	} {
		if got := p.Line(unit); got != want {
			t.Errorf("%s: %q, want %q", unit, got, want)
		}
	}
	p.AllowanceMin = &most
	if got, want := p.Line("in"), "FRONT: 10 by 25 1/4 in, 252 sq in, 1 notch, cut 1, allowance 5/8 in"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

package roles

import (
	"testing"

	"tracewheel/pipeline/pattern"
)

func TestFind(t *testing.T) {
	for _, c := range []struct {
		name     string
		role     pattern.Role
		conflict bool
	}{
		{"cut", pattern.RoleCut, false},
		{"Cut 2", pattern.RoleCut, false},
		{"CUTLINE", pattern.RoleCut, false},
		{"SEW-line", pattern.RoleSew, false},
		{"notch_03", pattern.RoleNotch, false},
		{"notch03", pattern.RoleNotch, false},
		{"cutout", pattern.RoleCutout, false},
		{"Cut Out", pattern.RoleCutout, false},
		{"cut-out 4", pattern.RoleCutout, false},
		{"note 3", pattern.RoleText, false},
		{"cutter-note", pattern.RoleNone, false}, // "cutter" is nothing, and "note" counts by itself only
		{"Frame 1", pattern.RoleIgnore, false},
		{"frame pocket", pattern.RoleNone, false},
		{"guide lines", pattern.RoleIgnore, false},
		{"check square", pattern.RoleCheck, false},
		{"check-lining", pattern.RoleNone, false},
		{"slash pocket", pattern.RoleNone, false},
		{"slash pocket cut", pattern.RoleCut, false},
		{"Straight skirt", pattern.RoleNone, false},
		{"straight grain", pattern.RoleGrain, false},
		{"dart-2", pattern.RoleMark, false},
		{"front-fold", pattern.RoleFold, false},
		{"cutter", pattern.RoleNone, false},
		{"outlined", pattern.RoleNone, false},
		{"cut and sew", pattern.RoleNone, true},
		{"cut edge", pattern.RoleCut, false},
		{"stitchmark", pattern.RoleMark, false},
		{"grain line", pattern.RoleGrain, false},
		{"FRAME", pattern.RoleIgnore, false},
		{"gauge", pattern.RoleCheck, false},
		{"14", pattern.RoleNone, false},
		{"", pattern.RoleNone, false},
	} {
		role, ok, conflict := Find(c.name)
		if role != c.role || conflict != c.conflict || ok != (c.role != pattern.RoleNone) {
			t.Errorf("Find(%q) = %q, %v, %v; want %q, conflict %v", c.name, role, ok, conflict, c.role, c.conflict)
		}
	}
}

// The table of the standard as publicly transcribed (ASTM D6673-10, layer list).
func TestLayer(t *testing.T) {
	want := map[int]pattern.Role{
		0: pattern.RoleNone, 1: pattern.RoleCut, 2: pattern.RoleIgnore, 3: pattern.RoleIgnore, 4: pattern.RoleNotch,
		5: pattern.RoleIgnore, 6: pattern.RoleFold, 7: pattern.RoleGrain, 8: pattern.RoleMark, 9: pattern.RoleStripe,
		10: pattern.RolePlaid, 11: pattern.RoleCutout, 12: pattern.RoleNone, 13: pattern.RoleDrill, 14: pattern.RoleSew,
		15: pattern.RoleText, 80: pattern.RoleNotch, 83: pattern.RoleNotch, 84: pattern.RoleQuality, 87: pattern.RoleQuality,
		88: pattern.RoleNone,
	}
	for n, role := range want {
		if got, _ := Layer(n); got != role {
			t.Errorf("layer %d: got %q, want %q", n, got, role)
		}
	}
	kinds := map[int]pattern.NotchKind{4: pattern.NotchNick, 80: pattern.NotchT, 81: pattern.NotchCastle, 82: pattern.NotchCheck, 83: pattern.NotchU, 1: ""}
	for n, kind := range kinds {
		if _, got := Layer(n); got != kind {
			t.Errorf("layer %d: got notch %q, want %q", n, got, kind)
		}
	}
}

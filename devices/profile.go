package devices

import (
	"fmt"
	"slices"
)

// Language is what a device understands.
type Language string

// The languages, by the names that `devices --format json` prints.
const (
	HPGL  Language = "hpgl"
	HPGL2 Language = "hpgl2"
	GCode Language = "gcode"
	// PDF is what a sheet printer is given.
	PDF Language = "pdf"
)

// Kind is what a device is, which decides whether its jobs wait for a person.
type Kind string

// The kinds. Cutters never move unasked.
const (
	PenPlotter      Kind = "pen-plotter"
	DragKnife       Kind = "drag-knife"
	TangentialKnife Kind = "tangential-knife"
	PenGantry       Kind = "pen-gantry"
	// SheetPrinter is an office printer: it draws patterns on sheets to tape together.
	SheetPrinter Kind = "sheet-printer"
)

// Cuts tells whether a device of this kind carries a blade.
func (k Kind) Cuts() bool { return k == DragKnife || k == TangentialKnife }

// Prints tells whether a device of this kind takes pages: it has no pen, no blade and no port.
func (k Kind) Prints() bool { return k == SheetPrinter }

// Patterns says whether a piece is a pattern or a part of the garment.
type Patterns string

// On paper a piece is drawn once, with how often it is to be cut, and one on the fold as its half. As a part
// of the garment every copy is made, opened out.
const (
	PatternsOnce      Patterns = "once"
	PatternsEveryCopy Patterns = "every-copy"
)

// PatternWords are the words of Patterns.
func PatternWords() []string {
	return []string{string(PatternsOnce), string(PatternsEveryCopy)}
}

// PatternsKnown refuses a word that is none of them; "" leaves it to the device.
func PatternsKnown(said string) error {
	if said == "" || slices.Contains(PatternWords(), said) {
		return nil
	}
	return fmt.Errorf("--patterns is once or every-copy, not %q", said)
}

// Once tells whether a piece is drawn once for all its copies. Cutters never do.
func (p Profile) Once() bool { return !p.Kind.Cuts() && p.Patterns != PatternsEveryCopy }

// Profile is all that is known of one device. It is decoded from the workroom file as it stands:
// the yaml names are the keys that people write, lengths in mm, speeds in mm/s unless a key says
// otherwise.
type Profile struct {
	Name     string   `yaml:"-"`
	Kind     Kind     `yaml:"kind"`
	Language Language `yaml:"language"`

	// Width is the reach across the material, Length along it; Length 0 is a roll without end.
	Width  float64 `yaml:"width"`
	Length float64 `yaml:"length"`

	// StartsByItself lets a pen on a gantry draw a dropped draft without a person's release.
	StartsByItself bool `yaml:"starts_by_itself"`

	// LayWait is for how many seconds a shorter lay is sought before a job is ready.
	LayWait float64 `yaml:"lay_wait"`

	// Patterns says how often a pen draws a piece; a cutter cuts every copy.
	Patterns Patterns `yaml:"patterns"`

	Pen    PenProfile    `yaml:"pen"`
	Plot   PlotProfile   `yaml:"plot"`
	Blade  BladeProfile  `yaml:"blade"`
	Gantry GantryProfile `yaml:"gantry"`
	Sheets SheetProfile  `yaml:"sheets"`
	Port   PortProfile   `yaml:"port"`

	// Correction is the last map before bytes; the zero value means none was measured.
	Correction Correction `yaml:"-"`
}

// HasPen tells whether the device can draw as well as cut.
func (p Profile) HasPen() bool { return !p.Kind.Prints() && (!p.Kind.Cuts() || p.Pen.Present) }

// Correction is a device's calibration: what is wanted at (x, y) is sent as
// (ScaleX x + Skew y, ScaleY y). The zero Correction changes nothing.
type Correction struct {
	ScaleX float64 `json:"scale_x"`
	ScaleY float64 `json:"scale_y"`
	Skew   float64 `json:"skew"`
}

// Setting is what was measured of a device and holds for one program, which goes on with it although
// something else is measured meanwhile.
type Setting struct {
	Correction Correction
	// BladeOffset takes the place of the profile's, mm; 0 keeps that.
	BladeOffset float64
}

// On gives a profile as it was measured.
func (s Setting) On(p Profile) Profile {
	p.Correction = s.Correction
	if s.BladeOffset > 0 {
		p.Blade.Offset = s.BladeOffset
	}
	return p
}

// IsZero tells that no calibration is in force.
func (c Correction) IsZero() bool { return c == Correction{} }

// Similar tells whether circles stay circles, so that arcs need not be fitted anew.
func (c Correction) Similar() bool {
	return c.IsZero() || (c.ScaleX == c.ScaleY && c.Skew == 0)
}

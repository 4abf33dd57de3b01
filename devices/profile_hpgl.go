package devices

import "cmp"

// PenProfile says which pen draws what. Pens are numbered from 1 as on the carousel.
type PenProfile struct {
	// Present matters on a cutter only: a pen is mounted beside the blade.
	Present bool `yaml:"present"`
	// ByRole picks a pen for a role; Default is used for the rest.
	Default int            `yaml:"default"`
	ByRole  map[string]int `yaml:"by_role"`
	// Speed is in mm/s with the pen down, TravelSpeed with it up, Acceleration in mm/s2; 0 leaves
	// the device's own setting, and estimates then use common ones.
	Speed        float64 `yaml:"speed"`
	TravelSpeed  float64 `yaml:"travel_speed"`
	Acceleration float64 `yaml:"acceleration"`
	// Force is the device's own step, 0 leaves it alone.
	Force int `yaml:"force"`
	// LiftSeconds is what one raising and lowering takes, for estimates.
	LiftSeconds float64 `yaml:"lift_seconds"`
	// Each sets single pens apart from the rest, by their number.
	Each map[int]PenSetting `yaml:"each"`
}

// PenSetting is what differs for one pen; a 0 leaves what PenProfile says for all.
type PenSetting struct {
	Speed        float64 `yaml:"speed"`        // mm/s
	Acceleration float64 `yaml:"acceleration"` // mm/s2
	Force        int     `yaml:"force"`        // the device's own step
}

// For is the pen that draws a role.
func (p PenProfile) For(role string) int {
	if n, ok := p.ByRole[role]; ok {
		return n
	}
	if p.Default == 0 {
		return 1
	}
	return p.Default
}

// Setting is what holds for one pen: its own numbers, else those for all.
func (p PenProfile) Setting(pen int) PenSetting {
	s := p.Each[pen]
	s.Speed = cmp.Or(s.Speed, p.Speed)
	s.Acceleration = cmp.Or(s.Acceleration, p.Acceleration)
	s.Force = cmp.Or(s.Force, p.Force)
	return s
}

// PlotProfile is what an HP-GL or HP-GL/2 device wants of its bytes.
type PlotProfile struct {
	// ToolUp writes a program that only moves, its pen up throughout, and ends no page.
	ToolUp bool `yaml:"-"`
	// Unit is one plotter unit in mm, 0.025 by the manuals.
	Unit float64 `yaml:"unit"`
	// MinCoord and MaxCoord bound what may be sent, in plotter units.
	MinCoord int `yaml:"min_coord"`
	MaxCoord int `yaml:"max_coord"`
	// CentreOrigin is true where (0, 0) is the middle of the page.
	CentreOrigin bool `yaml:"centre_origin"`
	// Encoded asks for encoded polylines (HP-GL/2); SevenBit for their base 32 form.
	Encoded  bool `yaml:"encoded"`
	SevenBit bool `yaml:"seven_bit"`
	// InstructionBytes is the longest instruction that the device's buffer should be given.
	InstructionBytes int `yaml:"instruction_bytes"`
	// Long says what is done with a plot longer than one page: "page-size" (the device is told the
	// length), "frames", "sheets" (with a wait for the next one) or "refuse".
	Long string `yaml:"long"`
	// FrameLength is one frame or sheet along x in mm, FrameOverlap what two of them share.
	FrameLength  float64 `yaml:"frame_length"`
	FrameOverlap float64 `yaml:"frame_overlap"`
	// Escapes wraps the plot in the universal exit and the switch to HP-GL/2.
	Escapes bool `yaml:"escapes"`
	// Labels is "strokes" or "text".
	Labels string `yaml:"labels"`
	// SendSpeed, SendForce and SendAcceleration tell which instructions the device understands.
	SendSpeed        bool `yaml:"send_speed"`
	SendForce        bool `yaml:"send_force"`
	SendAcceleration bool `yaml:"send_acceleration"`
	// PageEnd is the instruction that ends a page: "PG" (HP-GL/2), "AF" (plain HP-GL; small plotters
	// read and ignore it) or "" for none.
	PageEnd string `yaml:"page_end"`
	// EndMargin is added to the length that a roll device is told with "page-size", mm.
	EndMargin float64 `yaml:"end_margin"`
	// MinPage is the least such length, mm. 0 means the width: HP-GL/2 lays x along the longer side
	// of the page, so that a page shorter than wide would turn the drawing. Less is right only for a
	// device that keeps x along the feed.
	MinPage float64 `yaml:"min_page"`
	// SerialControl lets an abort send the device-control sequences that empty the device's buffer
	// (ESC . J and ESC . K). Devices that do not know them would print or misread them.
	SerialControl bool `yaml:"serial_control"`
}

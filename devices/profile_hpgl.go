package devices

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
}

// PlotProfile is what an HP-GL or HP-GL/2 device wants of its bytes.
type PlotProfile struct {
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
}

package devices

// BladeProfile is the knife. Z 0 is the top face of the material; the tip touches at and under it.
type BladeProfile struct {
	// Offset is the distance from the pivot to the tip, mm.
	Offset float64 `yaml:"offset"`
	// CutZ is the cutting depth (negative), SwivelZ the height at which the blade turns with its tip
	// still in touch (0 or less, above CutZ), SafeZ clears everything.
	CutZ    float64 `yaml:"cut_z"`
	SwivelZ float64 `yaml:"swivel_z"`
	SafeZ   float64 `yaml:"safe_z"`
	// Passes is how often each stroke is cut, deeper each time; 0 counts as 1.
	Passes int `yaml:"passes"`
	// SwivelAngle is the turn in degrees from which a corner needs a swivel at cutting depth,
	// LiftAngle that from which the blade is lifted to SwivelZ for it.
	SwivelAngle float64 `yaml:"swivel_angle"`
	LiftAngle   float64 `yaml:"lift_angle"`
	// Overcut is how far a closed line is cut past its start, mm.
	Overcut float64 `yaml:"overcut"`
	// ReentryOverlap is how far before the place where it was held the blade goes in again, mm.
	ReentryOverlap float64 `yaml:"reentry_overlap"`
	// Align is the length of the stroke in waste that gives the blade its heading, in mm; 0 means
	// fifteen blade offsets.
	Align float64 `yaml:"align"`
	// AlignAt is where that stroke starts, mm from the bed's corner.
	AlignAt [2]float64 `yaml:"align_at"`
}

// GantryProfile is what a G-code machine wants. Feeds are mm/min, as the language has them.
type GantryProfile struct {
	FeedCut    float64 `yaml:"feed_cut"`
	FeedSwivel float64 `yaml:"feed_swivel"`
	FeedPlunge float64 `yaml:"feed_plunge"`
	FeedTravel float64 `yaml:"feed_travel"` // the rapids' speed, for estimates
	// FeedTurn is a tangential knife's rotary axis in degrees a minute; 0 takes 10800.
	FeedTurn float64 `yaml:"feed_turn"`
	// Acceleration is mm/s2, for estimates and for the speed at swivels.
	Acceleration float64 `yaml:"acceleration"`
	// FloorZ is the lowest Z that may ever be sent, mm; 0 means the cutting depth.
	FloorZ float64 `yaml:"floor_z"`
	// Decimals written, 3 or 4.
	Decimals int `yaml:"decimals"`
	// Arcs false writes chords instead of G2 and G3.
	Arcs bool `yaml:"arcs"`
	// Header and Footer are further lines of the machine's own.
	Header []string `yaml:"header"`
	Footer []string `yaml:"footer"`
	// Comments false leaves all remarks out.
	Comments bool `yaml:"comments"`
	// Park is where the gantry goes at the end; nil stays.
	Park *[2]float64 `yaml:"park"`
	// PenUp, PenDown are lines (or Z heights in the blade's keys) for a pen on a gantry.
	PenUp   []string `yaml:"pen_up"`
	PenDown []string `yaml:"pen_down"`
	// PenAt is where a pen mounted beside a blade stands from the blade's pivot, mm.
	PenAt [2]float64 `yaml:"pen_at"`
	// Axis is the rotary axis' letter of a tangential knife.
	Axis string `yaml:"axis"`
}

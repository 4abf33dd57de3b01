package gcode

import "cmp"

// reader is the state of the simulated machine.
type reader struct {
	opt    ReadOptions
	t      Trace
	line   int
	bad    bool // the present line has a fault
	closed bool // by a second %

	pos  [3]float64 // mm
	turn float64    // degrees

	motion      int // G code times ten; none while motionNone
	plane       int
	incremental bool
	arcAbsolute bool
	inverse     bool // feed mode G93
	scale       float64
	unitsSaid   bool
	feed        float64 // mm/min, or 1/min in inverse time
	feedKnown   bool
}

const motionNone = -1

func newReader(opt ReadOptions) *reader {
	opt.Axis = cmp.Or(opt.Axis, 'A')
	return &reader{opt: opt, pos: opt.Start, motion: motionNone, plane: 170, scale: 1}
}

// gGroups are the modal groups of the G codes times ten that are read.
var gGroups = byCode(map[string][]int{
	"motion": {0, 10, 20, 30, 800}, "once": {40, 280, 530}, "plane": {170, 180, 190}, "distance": {900, 910},
	"arc distance": {901, 911}, "feed mode": {930, 940}, "units": {200, 210}, "path": {610, 611, 640},
	"work offset":  {540, 550, 560, 570, 580, 590, 591, 592, 593},
	"compensation": {400}, "tool length": {490}, "retract": {980, 990},
})

// mGroups are those of the M codes; mist and flood may be on together.
var mGroups = byCode(map[string][]int{
	"stop": {0, 1, 2, 30, 60}, "tool change": {6}, "spindle": {3, 4, 5}, "": {7, 8, 9}, "override": {48, 49},
})

func byCode(groups map[string][]int) map[int]string {
	of := map[int]string{}
	for group, codes := range groups {
		for _, c := range codes {
			of[c] = group
		}
	}
	return of
}

// groups sorts a line's codes into modal groups and refuses two of one group.
func (r *reader) groups(b *block) {
	b.motion, b.once = motionNone, motionNone
	for _, c := range b.g {
		group, ok := gGroups[c]
		if !ok {
			r.fault(UnknownCode, "G%g is not read", float64(c)/10)
			continue
		}
		if b.has[group] {
			r.fault(ModalConflict, "two codes of the %s group", group)
		}
		b.has[group] = true
		r.sort(b, group, c)
	}
	if len(b.m) > 4 {
		r.fault(ModalConflict, "more than four M codes")
	}
	for _, c := range b.m {
		group, ok := mGroups[c]
		if !ok {
			r.fault(UnknownCode, "M%d is not read", c)
		}
		if group != "" && b.has["m "+group] {
			r.fault(ModalConflict, "two M codes of the %s group", group)
		}
		b.has["m "+group] = true
	}
	if b.motion >= 0 && b.motion != 800 && b.once == 280 {
		r.fault(ModalConflict, "G28 and a motion both want the axis words")
	}
}

func (r *reader) sort(b *block, group string, c int) {
	switch group {
	case "motion":
		b.motion = c
	case "once":
		b.once = c
	case "plane":
		b.plane = c
	case "distance":
		b.distance = c
	case "arc distance":
		b.arcDistance = c
	case "feed mode":
		b.feedMode = c
	case "units":
		b.units = c
	}
}

// run executes a line in the order that RS274/NGC prescribes: feed mode, F, dwell, plane, units, distance mode, G28,
// motion, stop. S, T, offsets and path mode change nothing that is read here.
func (r *reader) run(b *block) {
	r.setFeed(b)
	if r.bad {
		return
	}
	if b.once == 40 {
		p, ok := b.value('P')
		if !ok || p < 0 {
			r.fault(MissingWord, "G4 needs P, the time, not below 0")
			return
		}
		r.t.Dwell += p
	}
	r.setModes(b)
	r.axes(b)
	if !r.bad {
		r.stop(b)
	}
}

func (r *reader) setFeed(b *block) {
	switch {
	case b.feedMode == 930:
		r.inverse = true
	case b.feedMode == 940 && r.inverse:
		r.inverse, r.feedKnown = false, false
	}
	f, ok := b.value('F')
	if !ok {
		if r.inverse {
			r.feedKnown = false // each move needs its own
		}
		return
	}
	if f < 0 {
		r.fault(NoFeed, "a feed below 0")
		return
	}
	r.feed, r.feedKnown = f, f > 0
	if !r.inverse {
		r.feed *= r.scale // in the units before this line: F is read before G20 and G21
	}
}

func (r *reader) setModes(b *block) {
	if b.plane != 0 {
		r.plane = b.plane
	}
	switch b.units {
	case 200:
		r.scale, r.unitsSaid = 25.4, true
	case 210:
		r.scale, r.unitsSaid = 1, true
	}
	if b.distance != 0 {
		r.incremental = b.distance == 910
	}
	if b.arcDistance != 0 {
		r.arcAbsolute = b.arcDistance == 901
	}
}

// stop ends the program; M0 and M1 only pause it.
func (r *reader) stop(b *block) {
	for _, c := range b.m {
		if c == 2 || c == 30 {
			r.t.Ended = true
		}
	}
}

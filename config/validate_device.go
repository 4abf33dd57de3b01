package config

import (
	"maps"
	"regexp"
	"slices"
	"strconv"

	"tracewheel/devices"
	"tracewheel/devices/paper"
)

func (c checker) device(name string, w *Workroom, ports map[string]string) {
	d := w.Devices[name]
	k := func(keys ...string) []string { return append([]string{"devices", name}, keys...) }
	if !safeName.MatchString(name) {
		c.fault(k(), "a device's name becomes a folder: small letters, digits and - only, at most 40")
	}
	c.oneOf(k("kind"), string(d.Kind), string(devices.PenPlotter), string(devices.DragKnife),
		string(devices.TangentialKnife), string(devices.PenGantry), string(devices.SheetPrinter))
	if d.Kind.Prints() {
		c.sheets(name, d, k)
		return
	}
	c.oneOf(k("language"), string(d.Language), string(devices.HPGL), string(devices.HPGL2), string(devices.GCode))
	if known := d.Kind == devices.PenPlotter || d.Kind == devices.PenGantry || d.Kind.Cuts(); known &&
		d.Kind == devices.PenPlotter == (d.Language == devices.GCode) && d.Language != "" {
		c.fault(k("language"), "a %s does not speak %s", d.Kind, d.Language)
	}
	if d.StartsByItself && d.Kind != devices.PenGantry {
		c.fault(k("starts_by_itself"), "is for a pen-gantry: a pen-plotter starts by itself always, and a blade never")
	}
	c.within(k("lay_wait"), d.LayWait, 0, 240, " s")
	c.oneOf(k("patterns"), string(d.Patterns), string(devices.PatternsOnce), string(devices.PatternsEveryCopy))
	if d.Kind.Cuts() && d.Patterns == devices.PatternsOnce {
		c.fault(k("patterns"), "once is for pens: a cutter cuts every copy")
	}
	if c.lies(k("material"), d.Material, w) || d.Width != 0 { // a width left out is the material's
		c.within(k("width"), d.Width, 50, 10000, " mm")
	}
	c.within(k("length"), d.Length, 0, 200000, " mm")
	c.port(name, d.Language, d.Port, ports)
	if d.Language == devices.GCode {
		c.gantry(name, d.Profile)
	} else {
		c.plot(name, d.Profile)
	}
	if d.HasPen() {
		c.pen(name, d.Pen)
	}
	if d.Kind.Cuts() {
		c.blade(name, d.Kind, d.Blade)
	}
}

// sheets looks at a sheet printer, which has no port, no pen and no blade, and whose paper is its material.
func (c checker) sheets(name string, d Device, k func(keys ...string) []string) {
	own := at(c.root, "devices", name)
	for _, key := range []string{"material", "width", "length", "starts_by_itself", "pen", "plot", "blade", "gantry", "port"} {
		if at(own, key) != own {
			c.fault(k(key), "is not for a sheet-printer: what it prints on stands under sheets")
		}
	}
	if said := at(own, "language"); said != own && said.Value != string(devices.PDF) {
		c.fault(k("language"), "a sheet-printer takes %s; leave the key out", devices.PDF)
	}
	c.oneOf(k("patterns"), string(d.Patterns), string(devices.PatternsOnce), string(devices.PatternsEveryCopy))
	s := d.Sheets
	c.within(k("sheets", "margin"), s.Margin, 0, 100, " mm")
	c.within(k("sheets", "overlap"), s.Overlap, 0, 100, " mm")
	if _, err := paper.Parse(s.Paper, s.Free()); err != nil {
		c.fault(k("sheets", "paper"), "%v", err)
	}
	c.oneOf(k("sheets", "output"), string(s.Output), string(devices.ToFolder), string(devices.ToQueue))
	if on, _ := paper.Parse(s.Paper, s.Free()); on.Roll && s.Output == devices.ToQueue && s.Medium == "" {
		c.fault(k("sheets", "medium"), "a roll has no length that a queue could be told: say what your queue calls it, or output: folder")
	}
	if s.Output == devices.ToQueue && s.Queue == "" {
		c.fault(k("sheets", "queue"), "output: print needs the queue's name; `lpstat -e` lists them")
	}
	for key, word := range map[string]string{"queue": s.Queue, "medium": s.Medium} {
		if word != "" && !queueWord.MatchString(word) {
			c.fault(k("sheets", key), "%q is no name of a %s: letters, digits and ._- only, and no - at its beginning", word, key)
		}
	}
}

// queueWord is a name that stands among the arguments of a program.
var queueWord = regexp.MustCompile(`^[A-Za-z0-9_][A-Za-z0-9._-]{0,126}$`)

func (c checker) port(name string, lang devices.Language, p devices.PortProfile, ports map[string]string) {
	k := func(key string) []string { return []string{"devices", name, "port", key} }
	if p.Path == "" && p.Identity == "" {
		c.fault(k("path"), "says no port; give path (/dev/ttyUSB0, COM3) or identity")
	}
	for _, id := range []string{p.Path, p.Identity} {
		if other, taken := ports[id]; taken && id != "" {
			c.fault(k("path"), "is the port of %s already; each device needs its own", other)
		}
		ports[id] = name
	}
	if !slices.Contains(devices.Bauds, p.Baud) {
		c.fault(k("baud"), "%d baud cannot be set; the next usual rate is %d", p.Baud, devices.NearestBaud(p.Baud))
	}
	c.within(k("data_bits"), float64(p.DataBits), 7, 8, "")
	c.oneOf(k("parity"), p.Parity, "none", "even", "odd")
	c.within(k("stop_bits"), float64(p.StopBits), 1, 2, "")
	c.oneOf(k("flow"), string(p.Flow), string(devices.FlowXonXoff), string(devices.FlowRTSCTS),
		string(devices.FlowEnqAck), string(devices.FlowQuery), string(devices.FlowLineAck),
		string(devices.FlowLineWin), string(devices.FlowPaced), string(devices.FlowNone))
	gcode := lang == devices.GCode
	switch p.Flow {
	case devices.FlowEnqAck, devices.FlowQuery:
		if gcode {
			c.fault(k("flow"), "%s is a habit of HP-GL devices; a gcode controller answers each line: line-ack, or line-ack-counted", p.Flow)
		}
	case devices.FlowLineAck, devices.FlowLineWin:
		if !gcode && lang != "" {
			c.fault(k("flow"), "%s is a habit of gcode controllers; an %s device has xon-xoff, rts-cts, enq-ack or buffer-query", p.Flow, lang)
		}
	}
	c.within(k("margin"), float64(p.Margin), 1, 4096, " bytes")
	c.within(k("stall"), p.Stall, 1, 86400, " s")
	c.within(k("buffer"), float64(p.Buffer), 0, 1<<30, " bytes")
	c.within(k("block"), float64(p.Block), 1, 1<<20, " bytes")
	c.within(k("pace"), float64(p.Pace), 0, 1e6, " bytes a second")
	c.within(k("window"), float64(p.Window), 16, 1<<20, " bytes")
	c.within(k("start_wait"), p.StartWait, 0, 60, " s")
	c.within(k("planner"), float64(p.Planner), 0, 10000, " lines")
	if p.Flow == devices.FlowPaced && p.Pace <= 0 {
		c.fault(k("pace"), "plain pacing needs pace, in bytes a second")
	}
}

func (c checker) plot(name string, p devices.Profile) {
	k := func(key string) []string { return []string{"devices", name, "plot", key} }
	c.within(k("unit"), p.Plot.Unit, 0.005, 0.2, " mm")
	const most = 1 << 30 // HP-GL/2 knows no greater
	c.within(k("min_coord"), float64(p.Plot.MinCoord), -most, 0, "")
	if p.Plot.MinCoord >= p.Plot.MaxCoord {
		c.fault(k("max_coord"), "must be larger than min_coord")
	} else {
		c.within(k("max_coord"), float64(p.Plot.MaxCoord), 1000, most, "")
	}
	if p.Language == devices.HPGL && p.Plot.Encoded {
		c.fault(k("encoded"), "encoded polylines are HP-GL/2; plain HP-GL has none")
	}
	c.oneOf(k("long"), p.Plot.Long, "page-size", "frames", "sheets", "refuse")
	c.oneOf(k("labels"), p.Plot.Labels, "strokes", "text")
	c.within(k("instruction_bytes"), float64(p.Plot.InstructionBytes), 40, 65536, " bytes")
	if (p.Plot.Long == "frames" || p.Plot.Long == "sheets") && p.Plot.FrameLength <= 0 {
		c.fault(k("frame_length"), "long: %s needs frame_length, in mm", p.Plot.Long)
	}
	c.within(k("frame_length"), p.Plot.FrameLength, 0, 200000, " mm")
	if p.Plot.FrameLength > 0 && p.Plot.FrameOverlap >= p.Plot.FrameLength {
		c.fault(k("frame_overlap"), "must be less than frame_length (%g mm)", p.Plot.FrameLength)
	} else {
		c.within(k("frame_overlap"), p.Plot.FrameOverlap, 0, 200, " mm")
	}
	c.within(k("end_margin"), p.Plot.EndMargin, 0, 1000, " mm")
	c.within(k("min_page"), p.Plot.MinPage, 0, 10000, " mm")
}

// pen allows 0 where it leaves the device's own setting.
func (c checker) pen(name string, p devices.PenProfile) {
	k := func(keys ...string) []string { return append([]string{"devices", name, "pen"}, keys...) }
	const fast, force, pens = 10000, 1000, 255
	c.within(k("default"), float64(p.Default), 0, pens, "")
	for _, role := range slices.Sorted(maps.Keys(p.ByRole)) {
		c.within(k("by_role", role), float64(p.ByRole[role]), 0, pens, "")
	}
	c.within(k("speed"), p.Speed, 0, fast, " mm/s")
	c.within(k("travel_speed"), p.TravelSpeed, 0, fast, " mm/s")
	c.within(k("acceleration"), p.Acceleration, 0, 100000, " mm/s2")
	c.within(k("force"), float64(p.Force), 0, force, "")
	c.within(k("lift_seconds"), p.LiftSeconds, 0, 10, " s")
	for _, n := range slices.Sorted(maps.Keys(p.Each)) {
		e := func(key string) []string { return k("each", strconv.Itoa(n), key) }
		c.within(k("each", strconv.Itoa(n)), float64(n), 1, pens, "")
		c.within(e("speed"), p.Each[n].Speed, 0, fast, " mm/s")
		c.within(e("acceleration"), p.Each[n].Acceleration, 0, 100000, " mm/s2")
		c.within(e("force"), float64(p.Each[n].Force), 0, force, "")
	}
}

func (c checker) gantry(name string, p devices.Profile) {
	k := func(key string) []string { return []string{"devices", name, "gantry", key} }
	g := p.Gantry
	c.within(k("feed_cut"), g.FeedCut, 1, 100000, " mm/min")
	c.within(k("feed_swivel"), g.FeedSwivel, 1, 100000, " mm/min")
	c.within(k("feed_plunge"), g.FeedPlunge, 1, 100000, " mm/min")
	c.within(k("feed_travel"), g.FeedTravel, 1, 200000, " mm/min")
	c.within(k("acceleration"), g.Acceleration, 1, 50000, " mm/s2")
	c.within(k("decimals"), float64(g.Decimals), 2, 5, "")
	c.within(k("feed_turn"), g.FeedTurn, 0, 1e6, " degrees/min")
	if p.Kind.Cuts() {
		c.within(k("floor_z"), g.FloorZ, -60, 0, " mm")
	}
	for key, lines := range map[string][]string{"header": g.Header, "footer": g.Footer, "pen_up": g.PenUp, "pen_down": g.PenDown} {
		for i, l := range lines {
			if why := devices.BadLine(p.Kind, key, l); why != "" {
				c.fault(k(key), "line %d, %q: %s", i+1, l, why)
			}
		}
	}
	if p.Length == 0 {
		c.fault([]string{"devices", name, "length"}, "a bed has a length; give it in mm")
	}
}

func (c checker) blade(name string, kind devices.Kind, b devices.BladeProfile) {
	k := func(key string) []string { return []string{"devices", name, "blade", key} }
	if kind == devices.DragKnife { // its tip trails, or it would not turn
		c.within(k("offset"), b.Offset, 0.05, 5, " mm")
	} else {
		c.within(k("offset"), b.Offset, 0, 5, " mm")
	}
	if !(b.SafeZ > 0) {
		c.fault(k("safe_z"), "must lie above the material's top face, which is 0")
	} else {
		c.within(k("safe_z"), b.SafeZ, 0, 200, " mm")
	}
	c.within(k("align"), b.Align, 0, 200, " mm")
	if !(b.SwivelZ <= 0) {
		c.fault(k("swivel_z"), "the blade turns only while its tip touches: 0 or below")
	}
	if !(b.CutZ < b.SwivelZ) {
		c.fault(k("cut_z"), "must lie below swivel_z (%g mm)", b.SwivelZ)
	}
	c.within(k("cut_z"), b.CutZ, -50, 0, " mm")
	c.within(k("passes"), float64(b.Passes), 1, 20, "")
	c.within(k("swivel_angle"), b.SwivelAngle, 1, 60, " degrees")
	c.within(k("lift_angle"), b.LiftAngle, b.SwivelAngle, 180, " degrees")
	c.within(k("overcut"), b.Overcut, 0, 20, " mm")
	c.within(k("reentry_overlap"), b.ReentryOverlap, 1, 100, " mm")
}

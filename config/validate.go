package config

import (
	"regexp"
	"slices"
	"strings"

	yaml "go.yaml.in/yaml/v4"

	"tracewheel/devices"
)

// checker collects faults that only sense can find, beside those of form that are there already.
type checker struct {
	root   *yaml.Node
	faults *Faults
	// blamed are the keys of the faults of form: sense has nothing to add to them.
	blamed []string
}

func (c checker) fault(path []string, format string, args ...any) {
	key := ""
	for _, p := range path {
		key = join(key, p)
	}
	for _, b := range c.blamed {
		if b == key || strings.HasPrefix(b, key+".") || strings.HasPrefix(key, b+".") {
			return
		}
	}
	c.faults.add(at(c.root, path...), key, format, args...)
}

// oneOf refuses a word that is not on the list.
func (c checker) oneOf(path []string, word string, known ...string) {
	if !slices.Contains(known, word) {
		c.fault(path, "%q is not known%s", word, hint(word, known))
	}
}

// within refuses a number outside lo..hi; unit is for the reader.
func (c checker) within(path []string, v, lo, hi float64, unit string) {
	if !(v >= lo && v <= hi) {
		c.fault(path, "%g%s is outside %g to %g%s", v, unit, lo, hi, unit)
	}
}

// safeName is what may become a folder and stand in a ledger: the inbox has a folder for each
// device.
var safeName = regexp.MustCompile(`^[a-z0-9][a-z0-9-]{0,39}$`)

func validate(root *yaml.Node, w *Workroom, rules []string, faults *Faults) {
	c := checker{root: root, faults: faults}
	for _, f := range faults.List {
		c.blamed = append(c.blamed, f.Key)
	}
	c.oneOf([]string{"units"}, w.Units, "mm", "in")
	c.oneOf([]string{"log", "level"}, w.Log.Level, "debug", "info", "warn", "error")
	c.watch(w)
	c.sewing(w.Sewing)
	for _, rule := range sortedKeys(w.Checks) {
		c.oneOf([]string{"checks", rule}, rule, rules...)
		c.oneOf([]string{"checks", rule}, w.Checks[rule], "error", "warning", "note", "off")
	}
	for _, name := range sortedKeys(w.Materials) {
		c.material([]string{"materials", name}, w.Materials[name])
	}
	if len(w.Devices) == 0 {
		c.fault([]string{"devices"}, "a workroom needs at least one device")
	}
	ports := map[string]string{}
	for _, name := range w.DeviceNames() {
		c.device(name, w, ports)
	}
}

func (c checker) watch(w *Workroom) {
	if w.Watch.Settle > w.Watch.Limit {
		c.fault([]string{"watch", "settle"}, "must not be longer than watch.limit")
	}
	if w.Watch.Rescan <= 0 {
		c.fault([]string{"watch", "rescan"}, "must be more than nothing; 10s is usual")
	}
	if w.Log.Megabytes < 1 || w.Log.Files < 1 {
		c.fault([]string{"log"}, "megabytes and files must be at least 1")
	}
	if w.Folders.Inbox == w.Folders.Store || w.Folders.Returned == w.Folders.Store || w.Folders.Inbox == w.Folders.Returned {
		c.fault([]string{"folders"}, "inbox, returned and store must be three folders")
	}
}

func (c checker) sewing(s Sewing) {
	k := func(name string) []string { return []string{"sewing", name} }
	c.within(k("allowance"), s.Allowance, 0, 200, " mm")
	c.within(k("allowance_min"), s.AllowanceMin, 0, 200, " mm")
	c.within(k("allowance_max"), s.AllowanceMax, s.AllowanceMin, 500, " mm")
	c.within(k("allowance_spread"), s.AllowanceSpread, 0.05, 50, " mm")
	c.within(k("mitre_limit"), s.MitreLimit, 1, 20, "")
	c.within(k("notch_depth"), s.NotchDepth, 1, 30, " mm")
	c.within(k("notch_width"), s.NotchWidth, 0, 30, " mm")
	c.within(k("notch_keep"), s.NotchKeep, 0, 30, " mm")
	c.within(k("notch_warn"), s.NotchWarn, 0.1, 1, "")
	c.within(k("letters"), s.Letters, 2, 50, " mm")
	c.within(k("seam_tolerance"), s.SeamTolerance, 0, 50, " mm")
	c.oneOf(k("finer_curves"), s.FinerCurves, "drawn", "finer")
}

func (c checker) material(path []string, m Material) {
	k := func(name string) []string { return append(slices.Clone(path), name) }
	c.within(k("width"), m.Width, 50, 10000, " mm")
	c.within(k("length"), m.Length, 0, 200000, " mm")
	c.within(k("margin"), m.Margin, 0, m.Width/2, " mm")
	c.within(k("gap"), m.Gap, 0, 200, " mm")
	c.within(k("cut_z"), m.CutZ, -50, 0, " mm")
	c.within(k("swivel_z"), m.SwivelZ, m.CutZ, 0, " mm")
	c.within(k("passes"), float64(m.Passes), 0, 20, "")
	c.within(k("lift_angle"), m.LiftAngle, 0, 180, " degrees")
	c.within(k("feed_cut"), m.FeedCut, 0, 100000, " mm/min")
	c.within(k("overcut"), m.Overcut, 0, 20, " mm")
	c.oneOf(k("face"), m.Face, "right", "wrong")
	if m.OneWay && !m.Cloth {
		c.fault(k("one_way"), "only cloth has a nap; set cloth: true")
	}
}

// lies tells whether a device's material is there.
func (c checker) lies(path []string, material string, w *Workroom) bool {
	_, ok := w.Materials[material]
	switch all := sortedKeys(w.Materials); {
	case ok || slices.Contains(c.blamed, join("materials", material)):
	case material != "":
		c.fault(path, "there is no material %q%s", material, hint(material, all))
	case !slices.ContainsFunc(c.blamed, func(b string) bool { return strings.HasPrefix(b, join(path[0], path[1])+".") }):
		c.fault(path, "needs a material; it may be one of %s", strings.Join(all, ", "))
	}
	return ok
}

func (c checker) device(name string, w *Workroom, ports map[string]string) {
	d := w.Devices[name]
	k := func(keys ...string) []string { return append([]string{"devices", name}, keys...) }
	if !safeName.MatchString(name) {
		c.fault(k(), "a device's name becomes a folder: small letters, digits and - only, at most 40")
	}
	c.oneOf(k("kind"), string(d.Kind), string(devices.PenPlotter), string(devices.DragKnife),
		string(devices.TangentialKnife), string(devices.PenGantry))
	c.oneOf(k("language"), string(d.Language), string(devices.HPGL), string(devices.HPGL2), string(devices.GCode))
	if known := d.Kind == devices.PenPlotter || d.Kind == devices.PenGantry || d.Kind.Cuts(); known &&
		d.Kind == devices.PenPlotter == (d.Language == devices.GCode) && d.Language != "" {
		c.fault(k("language"), "a %s does not speak %s", d.Kind, d.Language)
	}
	if c.lies(k("material"), d.Material, w) || d.Width != 0 { // a width left out is the material's
		c.within(k("width"), d.Width, 50, 10000, " mm")
	}
	c.within(k("length"), d.Length, 0, 200000, " mm")
	c.port(name, d.Port, ports)
	if d.Language == devices.GCode {
		c.gantry(name, d.Profile)
	} else {
		c.plot(name, d.Profile)
	}
	if d.Kind.Cuts() {
		c.blade(name, d.Blade)
	}
}

func (c checker) port(name string, p devices.PortProfile, ports map[string]string) {
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
	c.within(k("baud"), float64(p.Baud), 50, 4000000, " baud")
	c.within(k("data_bits"), float64(p.DataBits), 7, 8, "")
	c.oneOf(k("parity"), p.Parity, "none", "even", "odd")
	c.within(k("stop_bits"), float64(p.StopBits), 1, 2, "")
	c.oneOf(k("flow"), string(p.Flow), string(devices.FlowXonXoff), string(devices.FlowRTSCTS),
		string(devices.FlowEnqAck), string(devices.FlowQuery), string(devices.FlowLineAck),
		string(devices.FlowLineWin), string(devices.FlowPaced), string(devices.FlowNone))
	c.within(k("margin"), float64(p.Margin), 1, 4096, " bytes")
	c.within(k("stall"), p.Stall, 1, 86400, " s")
	if p.Flow == devices.FlowPaced && p.Pace <= 0 {
		c.fault(k("pace"), "plain pacing needs pace, in bytes a second")
	}
}

func (c checker) plot(name string, p devices.Profile) {
	k := func(key string) []string { return []string{"devices", name, "plot", key} }
	c.within(k("unit"), p.Plot.Unit, 0.005, 0.2, " mm")
	if p.Plot.MinCoord >= p.Plot.MaxCoord {
		c.fault(k("max_coord"), "must be larger than min_coord")
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
	if p.Length == 0 {
		c.fault([]string{"devices", name, "length"}, "a bed has a length; give it in mm")
	}
}

func (c checker) blade(name string, b devices.BladeProfile) {
	k := func(key string) []string { return []string{"devices", name, "blade", key} }
	c.within(k("offset"), b.Offset, 0, 5, " mm")
	if !(b.SafeZ > 0) {
		c.fault(k("safe_z"), "must lie above the material's top face, which is 0")
	}
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

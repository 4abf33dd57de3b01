package config

import (
	"maps"
	"net"
	"net/netip"
	"net/url"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"

	yaml "go.yaml.in/yaml/v4"
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
		c.fault(path, "%s%s is outside %s to %s%s", plain(v), unit, plain(lo), plain(hi), unit)
	}
}

func plain(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// safeName is what may become a folder and stand in a ledger: the inbox has a folder for each
// device.
var safeName = regexp.MustCompile(`^[a-z0-9][a-z0-9-]{0,39}$`)

func validate(root *yaml.Node, w *Workroom, rules []string, faults *Faults) {
	c := checker{root: root, faults: faults}
	for _, f := range faults.List {
		c.blamed = append(c.blamed, f.Key)
	}
	c.oneOf([]string{"units"}, w.Units, "mm", "cm", "in")
	c.oneOf([]string{"log", "level"}, w.Log.Level, "debug", "info", "warn", "error")
	c.page(w.Page)
	c.hook("needs_you", w.Hooks.NeedsYou)
	c.hook("refused", w.Hooks.Refused)
	c.hook("done", w.Hooks.Done)
	c.within([]string{"copies_unasked"}, float64(w.CopiesUnasked), 0, 10000, " copies")
	c.watch(w)
	if w.KeepDrafts > 0 && (w.Keep == 0 || w.KeepDrafts < w.Keep) {
		c.fault([]string{"keep_drafts"}, "is shorter than keep, and a program goes with its draft; 0 keeps drafts for good")
	}
	c.sewing(w.Sewing)
	for _, rule := range slices.Sorted(maps.Keys(w.Checks)) {
		c.oneOf([]string{"checks", rule}, rule, rules...)
		c.oneOf([]string{"checks", rule}, w.Checks[rule], "error", "warning", "note", "off")
	}
	for _, name := range slices.Sorted(maps.Keys(w.Materials)) {
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

func (c checker) page(p Page) {
	if p.Address == "none" {
		return
	}
	host, port, err := net.SplitHostPort(p.Address)
	if n, bad := strconv.Atoi(port); err != nil || bad != nil || n < 0 || n > 65535 {
		c.fault([]string{"page", "address"}, "%q is no host:port such as 127.0.0.1:7432, and not none", p.Address)
		return
	}
	if (p.Cert == "") != (p.Key == "") {
		c.fault([]string{"page"}, "cert and key go together")
	}
	if a, err := netip.ParseAddr(host); host != "localhost" && (err != nil || !a.IsLoopback()) && p.Cert == "" && !p.PlainHTTP {
		c.fault([]string{"page", "address"}, "%q can be reached by other machines: name cert and key, or say plain_http: true", p.Address)
	}
}

func (c checker) hook(name string, h Hook) {
	if len(h.Command) > 0 && !filepath.IsAbs(h.Command[0]) {
		c.fault([]string{"hooks", name, "command"}, "%q is no whole path of a program, such as /usr/local/bin/ring", h.Command[0])
	}
	if h.Post == "" {
		return
	}
	if u, err := url.Parse(h.Post); err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Host == "" {
		c.fault([]string{"hooks", name, "post"}, "%q is no http:// or https:// address", h.Post)
	}
}

func (c checker) watch(w *Workroom) {
	if w.Watch.Settle > w.Watch.Limit {
		c.fault([]string{"watch", "settle"}, "must not be longer than watch.limit")
	}
	if w.Watch.SettleUnsure < w.Watch.Settle {
		c.fault([]string{"watch", "settle_unsure"}, "must not be shorter than watch.settle")
	}
	if w.Watch.Rescan <= 0 {
		c.fault([]string{"watch", "rescan"}, "must be more than nothing; 10s is usual")
	}
	c.within([]string{"log", "megabytes"}, float64(w.Log.Megabytes), 1, 10000, " MB")
	c.within([]string{"log", "files"}, float64(w.Log.Files), 1, 1000, "")
	for key, dir := range map[string]string{"inbox": w.Folders.Inbox, "returned": w.Folders.Returned, "store": w.Folders.Store, "made": w.Folders.Made} {
		if dir = filepath.Clean(w.Path(dir)); filepath.IsAbs(dir) && dir == filepath.Dir(dir) {
			c.fault([]string{"folders", key}, "is the root of the disk; name a folder of its own")
		}
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
	c.oneOf(k("nap"), m.Nap, "none", "garment", "all")
	if m.Nap != "none" && !m.Cloth {
		c.fault(k("nap"), "only cloth has a nap; set cloth: true")
	}
	c.oneOf(k("fold"), m.Fold, "", "none", "once", "two", "part")
	if m.Fold != "" && m.Fold != "none" && !m.Cloth {
		c.fault(k("fold"), "only cloth is folded; set cloth: true")
	}
	c.within(k("selvedge"), m.Selvedge, 0, m.Width/4, " mm")
	c.within(k("tilt"), m.Tilt, 0, 10, " degrees")
	c.within(k("shrinkage"), m.Shrinkage, 0, 50, " percent")
	c.within(k("ends"), m.Ends, 0, 1000, " mm")
	c.within(k("step"), m.Step, 0, 5000, " mm")
	c.within(k("price"), m.Price, 0, 1e6, "")
	c.within(k("roll_least"), m.RollLeast, 0, 100000, " mm")
	for _, zone := range m.Avoid {
		if len(zone) < 3 {
			c.fault(k("avoid"), "a place to avoid needs at least three corners: [[100, 0], [150, 0], [150, 80]]")
		}
	}
}

// lies tells whether a device's material is there.
func (c checker) lies(path []string, material string, w *Workroom) bool {
	_, ok := w.Materials[material]
	switch all := slices.Sorted(maps.Keys(w.Materials)); {
	case ok || slices.Contains(c.blamed, join("materials", material)):
	case material != "" && len(all) == 0:
		c.fault(path, "there is no material %q: the file holds none; write it under materials: at the top, with its width", material)
	case material != "":
		c.fault(path, "there is no material %q%s", material, hint(material, all))
	case len(all) == 0:
		c.fault(path, "needs a material, and the file holds none; write one under materials: at the top, with its width")
	case !slices.ContainsFunc(c.blamed, func(b string) bool { return strings.HasPrefix(b, join(path[0], path[1])+".") }):
		c.fault(path, "needs a material; it may be one of %s", strings.Join(all, ", "))
	}
	return ok
}

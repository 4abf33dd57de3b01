package making

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"runtime/debug"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/devices/hpgl"
	"tracewheel/pipeline/check"
	"tracewheel/pipeline/draft"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/prepare"
	"tracewheel/pipeline/testsquare"
)

// Setup is a device as it is for one job: its profile for what lies on it, corrected by what was measured.
type Setup struct {
	Profile  devices.Profile
	Material config.Material
	// setting is what was measured, asked for once: a calibration recorded while the job is made does not change it.
	setting testsquare.Setting
}

// measured gives what was measured of a device.
func (m *Maker) measured(device string) testsquare.Setting {
	if m.setting == nil || device == "" {
		return testsquare.Setting{}
	}
	return m.setting(device, "")
}

// setup gives a device with a material on it, "" for its usual one.
func (m *Maker) setup(device, material string, s testsquare.Setting) Setup {
	p, lies := m.Room.On(device, material)
	return Setup{Profile: s.On(p), Material: lies, setting: s}
}

// lies is the material that lies on the device, where the ticket names one, by that name.
func (on *Setup) lies(t pattern.Ticket) pattern.Material {
	m := pattern.MaterialOn(t.Material, on.Profile, on.Material)
	m.Pages.Step, m.Pages.Room = hpgl.Pages(on.Profile)
	return m
}

// lieOn puts a remnant on the device, by its size in place of what the workroom file says of the material; the zero
// remnant changes nothing.
func (on *Setup) lieOn(r ledger.Remnant) {
	if r.No != 0 {
		on.Material.Width, on.Material.Length = r.Width, r.Length
	}
}

// What each stage is asked for follows from the workroom, the ticket and the device as it is set up, nil for none. It is
// worked out here alone, so that commands that go a part of the way (check, lay) go the same way.

func (m *Maker) reading(r Request, t pattern.Ticket, into *Read) draft.Options {
	return draft.Options{Unit: t.Unit, Room: m.Room.Units, FinerCurves: m.Room.Sewing.FinerCurves == "finer", Body: t.Body, Card: m.cardOf(r, into), Block: m.blockOf(r, into), Toile: t.Toile, SeamTolerance: m.Room.Sewing.SeamTolerance, Done: m.Done, Figured: m.Figured}
}

func (m *Maker) limits(t pattern.Ticket, on *Setup) check.Limits {
	s := m.Room.Sewing
	lim := check.Limits{
		Unit: m.Room.Units, AllowanceMin: s.AllowanceMin, AllowanceMax: s.AllowanceMax, WorkroomAllowance: m.allowance(),
		NotchDepth: s.NotchDepth, NotchShare: s.NotchWarn, NotchLeft: s.NotchKeep, SeamTolerance: s.SeamTolerance,
	}
	lim.AllowanceIncluded, lim.Allowance, _ = t.AllowanceSaid() // a ticket that says it wrongly was refused when it was read
	if on == nil {
		return lim
	}
	lies := on.lies(t)
	lim.Width, lim.Length, lim.Margin, lim.Cloth = lies.Width, lies.Length, lies.Margin, lies.Cloth
	lim.Cuts, lim.BladeOffset = on.Profile.Kind.Cuts(), on.Profile.Blade.Offset
	lim.Once = on.Profile.Once()
	return lim
}

// levels are the severities that the workroom gives the rules.
func (m *Maker) levels() map[string]pattern.Severity {
	out := map[string]pattern.Severity{}
	for rule, s := range m.Room.Checks {
		out[rule] = pattern.Severity(s)
	}
	return out
}

// preparing gives the options of prepare; no is the job's number, which is written on pieces, 0 for none.
func (m *Maker) preparing(on *Setup, no int64) prepare.Options {
	s := m.Room.Sewing
	opt := prepare.Options{
		Unit: m.Room.Units, WorkroomAllowance: m.allowance(), MitreLimit: s.MitreLimit,
		NotchDepth: s.NotchDepth, NotchWidth: s.NotchWidth, NotchLeft: s.NotchKeep, LetterHeight: s.Letters, Job: no,
	}
	if on != nil {
		opt.Once = on.Profile.Once()
		opt.Cuts, opt.HasPen, opt.OneWay = on.Profile.Kind.Cuts(), on.Profile.HasPen(), on.Material.Nap == "all"
	}
	return opt
}

// allowance is the workroom's seam allowance in mm, nil where it has none.
func (m *Maker) allowance() *float64 {
	if a := m.Room.Sewing.Allowance; a > 0 {
		return &a
	}
	return nil
}

// madeBy gives the sums of all that a program is made by beside its draft, its answers and measurements, so that a person
// can be told what has changed.
func (m *Maker) madeBy(device, material string) map[string]string {
	profile, lies := m.Room.On(device, material)
	material = cmp.Or(material, m.Room.Devices[device].Material)
	out := map[string]string{
		"devices: " + device: sum(profile), "materials: " + material: sum(lies), "sewing": sum(m.Room.Sewing),
		"checks": sum(m.Room.Checks), "units": sum(m.Room.Units), devices.Itself: "",
	}
	if info, ok := debug.ReadBuildInfo(); ok {
		out[devices.Itself] = info.Main.Version
		for _, s := range info.Settings {
			if s.Key == "vcs.revision" {
				out[devices.Itself] += " " + s.Value
			}
		}
	}
	return out
}

func sum(v any) string {
	text, err := json.Marshal(v)
	if err != nil {
		text = fmt.Appendf(nil, "%#v", v)
	}
	all := sha256.Sum256(text)
	return hex.EncodeToString(all[:8])
}

// Package config reads the workroom file: which devices there are, what lies on them, how long
// things wait and which checks matter. It is strict - every fault at once, each with line and
// column and what would be right - and knows nothing of the pipeline: the names of the checks are
// handed to it.
package config

import (
	"cmp"
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"strings"

	"tracewheel/devices"
)

// Workroom is a whole workroom file, valid and with every default filled in.
type Workroom struct {
	// Name is what the workroom is called in reports.
	Name string `yaml:"workroom"`
	// Units is how measures are told to people, "mm", "cm" or "in", where they belong to no measured draft. Files and devices have their own.
	Units   string   `yaml:"units"`
	Folders Folders  `yaml:"folders"`
	Watch   Watch    `yaml:"watch"`
	Keep    Duration `yaml:"keep"`
	// KeepDrafts is how long whole jobs are kept, 0 until a person removes them.
	KeepDrafts Duration `yaml:"keep_drafts"`
	// CopiesUnasked is how many copies a ticket may want before a person is asked; 0 never asks.
	CopiesUnasked int                 `yaml:"copies_unasked"`
	Log           Log                 `yaml:"log"`
	Page          Page                `yaml:"page"`
	Hooks         Hooks               `yaml:"hooks"`
	Sewing        Sewing              `yaml:"sewing"`
	Checks        map[string]string   `yaml:"checks"`
	Materials     map[string]Material `yaml:"materials"`
	Devices       map[string]Device   `yaml:"devices"`
	// Calibration is how long a calibration counts as fresh.
	Calibration Duration `yaml:"calibration_lasts"`

	// File is where it was read from, "" for the sample; Dir is what its relative paths start from.
	File string `yaml:"-"`
	Dir  string `yaml:"-"`
	// Others is why somebody else could have written File when it was read, nil where nobody could. A file whose rights
	// are mended later still holds what was read.
	Others error `yaml:"-"`
	// Notes are what a person should mend when there is time: old names of keys, each with its place.
	Notes []string `yaml:"-"`
}

// Folders are where files come from and go to, relative to the workroom file unless absolute.
type Folders struct {
	Inbox    string `yaml:"inbox"`
	Returned string `yaml:"returned"`
	Store    string `yaml:"store"`
	// Made is where the pages of a sheet printer are put whose output is a folder.
	Made string `yaml:"made"`
	// Group is a group of the system whose members may drop drafts, read what came back and speak to the
	// daemon; empty for none.
	Group string `yaml:"group"`
}

// Watch is how the inbox is looked at.
type Watch struct {
	// Settle is how long a file must stay as it is before it is taken, SettleUnsure how long where the
	// system does not tell whether a program still has it open, Limit the longest wait.
	Settle       Duration `yaml:"settle"`
	SettleUnsure Duration `yaml:"settle_unsure"`
	Limit        Duration `yaml:"limit"`
	// Rescan is how often the whole folder is looked through, events or not.
	Rescan Duration `yaml:"rescan"`
}

// Log is the rotated log file for machines.
type Log struct {
	File      string `yaml:"file"`
	Level     string `yaml:"level"`
	Megabytes int    `yaml:"megabytes"`
	Files     int    `yaml:"files"`
}

// Page is the workroom's page in a browser.
type Page struct {
	// Address is host:port, or "none" for no page. Beyond this machine it needs Cert and Key, or PlainHTTP.
	Address string `yaml:"address"`
	// Cert and Key are files in PEM, seen from the workroom file.
	Cert      string `yaml:"cert"`
	Key       string `yaml:"key"`
	PlainHTTP bool   `yaml:"plain_http"`
	// Hosts are further names by which browsers ask for it.
	Hosts []string `yaml:"hosts"`
}

// Hooks are what is told of a job that waits for a person, was refused or is done.
type Hooks struct {
	NeedsYou Hook `yaml:"needs_you"`
	Refused  Hook `yaml:"refused"`
	Done     Hook `yaml:"done"`
}

// Hook is a program, a web address, both or none.
type Hook struct {
	// Command is a program by its whole path and its arguments; no shell reads it.
	Command []string `yaml:"command"`
	// Post is an http or https address to which the facts are posted.
	Post string `yaml:"post"`
}

// Wanted tells whether there is anything to tell.
func (h Hook) Wanted() bool { return len(h.Command) > 0 || h.Post != "" }

// Sewing holds the workroom's habits, in mm.
type Sewing struct {
	// Allowance is built where a draft has a sew line only and states none; 0 builds none. It never
	// counts for a cutter, where the draft or the ticket must say it.
	Allowance float64 `yaml:"allowance"`
	// AllowanceMin and AllowanceMax bound what is sensible; 0 bounds nothing.
	AllowanceMin float64 `yaml:"allowance_min"`
	AllowanceMax float64 `yaml:"allowance_max"`
	// AllowanceSpread is how much one edge's allowance may vary along it.
	AllowanceSpread float64 `yaml:"allowance_spread"`
	// MitreLimit is how far a corner may run out, in allowances.
	MitreLimit float64 `yaml:"mitre_limit"`
	// NotchDepth is for notches that come without one; NotchWidth for V, T and castle.
	NotchDepth float64 `yaml:"notch_depth"`
	NotchWidth float64 `yaml:"notch_width"`
	// NotchKeep is what must be left between a notch and the sew line, NotchWarn the share of the
	// allowance past which it is told.
	NotchKeep float64 `yaml:"notch_keep"`
	NotchWarn float64 `yaml:"notch_warn"`
	// Letters is the height of capitals on a piece.
	Letters float64 `yaml:"letters"`
	// SeamTolerance is how much two seams sewn together may differ where no ease is stated.
	SeamTolerance float64 `yaml:"seam_tolerance"`
	// FinerCurves says which outline counts where a draft gives a finer curve beside the drawn one:
	// "drawn" or "finer".
	FinerCurves string `yaml:"finer_curves"`
}

// Material is cloth or paper on a device. The width runs across, lengths are mm.
type Material struct {
	Width  float64 `yaml:"width"`
	Length float64 `yaml:"length"`
	Margin float64 `yaml:"margin"`
	Gap    float64 `yaml:"gap"`
	// Selvedge is kept free at both long sides, where that is more than Margin.
	Selvedge float64 `yaml:"selvedge"`
	Cloth    bool    `yaml:"cloth"`
	// Nap says whether pieces lie one way: "none", "garment" or "all".
	Nap string `yaml:"nap"`
	// Fold is how `lay` folds the cloth: "none", "once", "two", "part", or "" for the best. Nothing is ever
	// folded on a machine.
	Fold string `yaml:"fold"`
	// QuarterTurns lets grain lines lie across the cloth, Tilt off their direction by so many degrees.
	QuarterTurns bool    `yaml:"quarter_turns"`
	Tilt         float64 `yaml:"tilt"`
	// Avoid are flaws and clips: the corners of each, x along the material and y across it.
	Avoid [][][2]float64 `yaml:"avoid"`
	// Shrinkage is in percent of the length. Ends is what is bought on top at each end, Step the shop's least
	// amount, Price that of a metre (of a yard, where units are inches).
	Shrinkage float64 `yaml:"shrinkage"`
	Ends      float64 `yaml:"ends"`
	Step      float64 `yaml:"step"`
	Price     float64 `yaml:"price"`
	// RollLeast is how much of a roll in stock stays one: a shorter rest is kept as a remnant.
	RollLeast float64 `yaml:"roll_least"`
	// Face says which side lies up: "right" or "wrong".
	Face string `yaml:"face"`
	// CutZ, SwivelZ, LiftAngle, FeedCut and Passes override the device's own for this kind of cloth;
	// 0 keeps them.
	CutZ      float64 `yaml:"cut_z"`
	SwivelZ   float64 `yaml:"swivel_z"`
	LiftAngle float64 `yaml:"lift_angle"`
	FeedCut   float64 `yaml:"feed_cut"`
	Passes    int     `yaml:"passes"`
	// Overcut is cut on top of the device's own, for soft cloth.
	Overcut float64 `yaml:"overcut"`
}

// Device is a machine of the workroom: its profile and what usually lies on it.
type Device struct {
	devices.Profile `yaml:",inline"`
	Material        string `yaml:"material"`
}

// Path makes a folder or file of the workroom absolute.
func (w *Workroom) Path(p string) string {
	if filepath.IsAbs(p) {
		return p
	}
	return filepath.Join(w.Dir, p)
}

// DeviceNames are all devices in the order of their names.
func (w *Workroom) DeviceNames() []string { return slices.Sorted(maps.Keys(w.Devices)) }

// On is a device's profile with what its material changes: depth, passes, overcut. The material ""
// is the device's usual one.
func (w *Workroom) On(device, material string) (devices.Profile, Material) {
	d := w.Devices[device]
	material = cmp.Or(material, d.Material)
	m := w.Materials[material]
	p := d.Profile
	for to, v := range map[*float64]float64{&p.Blade.CutZ: m.CutZ, &p.Blade.SwivelZ: m.SwivelZ,
		&p.Blade.LiftAngle: m.LiftAngle, &p.Gantry.FeedCut: m.FeedCut} {
		if v != 0 {
			*to = v
		}
	}
	if m.Passes != 0 {
		p.Blade.Passes = m.Passes
	}
	p.Blade.Overcut += m.Overcut
	return p, m
}

// NoDevice says that the workroom has no device of a name, and which it has.
func (w *Workroom) NoDevice(name string) error {
	return fmt.Errorf("there is no device %q in the workroom; it has %s%s", name, list(w.DeviceNames()), meant(name, w.DeviceNames()))
}

// NoMaterial says that the workroom has no material of a name, and which it has.
func (w *Workroom) NoMaterial(name string) error {
	return NoMaterial(name, slices.Sorted(maps.Keys(w.Materials)))
}

// NoMaterial is that of a workroom with these materials.
func NoMaterial(name string, known []string) error {
	return fmt.Errorf("the workroom has no material %q, only %s%s", name, strings.Join(known, ", "), meant(name, known))
}

// NoneSought says why a search by a device, or by a part of a material's name, finds nothing, where the workroom has none of that
// name; "" is not sought by.
func (w *Workroom) NoneSought(device, material string) error {
	if _, is := w.Devices[device]; device != "" && !is {
		return w.NoDevice(device)
	}
	for name := range w.Materials {
		if strings.Contains(strings.ToLower(name), strings.ToLower(material)) {
			return nil
		}
	}
	if material == "" {
		return nil
	}
	return w.NoMaterial(material)
}

func list(words []string) string {
	switch len(words) {
	case 0:
		return "none"
	case 1:
		return words[0]
	}
	out := ""
	for i, w := range words {
		switch {
		case i == 0:
		case i == len(words)-1:
			out += " and "
		default:
			out += ", "
		}
		out += w
	}
	return out
}

package config

import (
	"cmp"
	_ "embed"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"time"

	yaml "go.yaml.in/yaml/v4"

	"tracewheel/devices"
)

//go:embed workroom.yaml
var sample []byte

// SampleFile is the commented workroom file that `tracewheel new` writes.
func SampleFile() []byte { return append([]byte(nil), sample...) }

// Sample is that file, read: what the verbs that work on a file use where there is no workroom.
func Sample(rules []string) *Workroom {
	w, err := parseFile(sample, "the sample workroom", rules)
	if err != nil {
		panic(err) // a test loads it: it cannot be wrong in a build that passed
	}
	w.File, w.Dir = "", "."
	return w
}

// Load reads a workroom file. rules are the names that `checks` may hold. The error is *Faults for
// mistakes inside the file.
func Load(file string, rules []string) (*Workroom, error) {
	others := Mine(file) // before it is read: from then on nobody else can change it
	data, err := os.ReadFile(file)
	if err != nil {
		return nil, fmt.Errorf("the workroom file cannot be read: %w", err)
	}
	dir, err := filepath.Abs(filepath.Dir(file))
	if err != nil {
		return nil, fmt.Errorf("the workroom's folder: %w", err)
	}
	w, err := parseIn(data, file, dir, rules)
	if err != nil {
		return nil, err
	}
	w.File, w.Others = file, others
	return w, nil
}

// fileAbove is the nearest workroom.yaml at or above a folder, "" where there is none. One that cannot be read
// counts: to pass it by would take another workroom's settings in silence.
func fileAbove(dir string) string {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return ""
	}
	for {
		file := filepath.Join(dir, "workroom.yaml")
		if st, err := os.Lstat(file); err == nil && !st.IsDir() {
			return file
		}
		up := filepath.Dir(dir)
		if up == dir {
			return ""
		}
		dir = up
	}
}

// Find is which workroom file counts: the nearest at or above the folders of the drafts, else at or above
// the current folder, else the user's own; "" where there is none. Where these folders lie in different
// workrooms a person has to say which is meant.
func Find(drafts ...string) (string, error) {
	found, of := "", ""
	for _, draft := range drafts {
		if err := agree(&found, &of, fileAbove(filepath.Dir(draft)), draft); err != nil {
			return "", err
		}
	}
	if err := agree(&found, &of, fileAbove("."), "the current folder"); err != nil || found != "" {
		return found, err
	}
	if dir, err := os.UserConfigDir(); err == nil {
		file := filepath.Join(dir, "tracewheel", "workroom.yaml")
		if st, err := os.Lstat(file); err == nil && !st.IsDir() {
			return file, nil
		}
	}
	return "", nil
}

// agree takes a workroom file over, or refuses it beside another.
func agree(found, of *string, file, from string) error {
	if file == "" || file == *found {
		return nil
	}
	if *found == "" {
		*found, *of = file, from
		return nil
	}
	a, err1 := os.Stat(*found)
	b, err2 := os.Stat(file)
	if err1 == nil && err2 == nil && os.SameFile(a, b) {
		return nil
	}
	return fmt.Errorf("two workrooms could be meant: %s lies in that of %s, %s in that of %s; say which with --config FILE", *of, *found, from, file)
}

// parseFile reads a workroom from bytes; file names it in faults.
func parseFile(data []byte, file string, rules []string) (*Workroom, error) {
	return parseIn(data, file, "", rules)
}

// parseIn reads a workroom of which the relative paths start from dir.
func parseIn(data []byte, file, dir string, rules []string) (*Workroom, error) {
	root, faults := parse(data, file)
	if err := faults.orNil(); err != nil {
		return nil, err
	}
	w := defaults()
	if root == nil {
		faults.add(nil, "", "the file is empty; `tracewheel new DIR` writes one to start from")
		return nil, faults
	}
	notes := renew(root, renamed, faults)
	faults.walk(root, reflect.TypeOf(*w), "")
	sound := faults.sound(root)
	if sound == nil {
		return nil, faults
	}
	if err := sound.Load(w); err != nil {
		faults.add(root, "", "%v", err)
		return nil, faults
	}
	if err := fillDevices(sound, w); err != nil {
		faults.add(root, "devices", "%v", err)
		return nil, faults
	}
	w.Dir, w.Notes = dir, notes
	validate(root, w, rules, faults)
	if err := faults.orNil(); err != nil {
		return nil, err
	}
	return w, nil
}

func defaults() *Workroom {
	return &Workroom{
		Units:   "mm",
		Folders: Folders{Inbox: "inbox", Returned: "returned", Store: "store", Made: "made"},
		Watch: Watch{Settle: Duration(750 * time.Millisecond), SettleUnsure: Duration(10 * time.Second), Limit: Duration(time.Minute),
			Rescan: Duration(10 * time.Second)},
		Keep:          Duration(90 * 24 * time.Hour),
		Log:           Log{File: "log/tracewheel.log", Level: "info", Megabytes: 10, Files: 5},
		CopiesUnasked: 20,
		Page:          Page{Address: "127.0.0.1:7432"},
		Sewing: Sewing{AllowanceMin: 4, AllowanceMax: 60, AllowanceSpread: 1, MitreLimit: 4,
			NotchDepth: 5, NotchWidth: 4, NotchKeep: 2, NotchWarn: 0.5, Letters: 6, SeamTolerance: 2,
			FinerCurves: "drawn"},
		Calibration: Duration(31 * 24 * time.Hour),
	}
}

// fillDevices reads each device a second time onto the defaults of its kind and language, so that
// a file says only what differs.
func fillDevices(root *yaml.Node, w *Workroom) error {
	for name, d := range w.Devices {
		full := Device{Profile: devices.Default(d.Kind, d.Language)}
		if err := at(root, "devices", name).Load(&full); err != nil {
			return err
		}
		full.Name = name
		if full.Kind.Prints() {
			full.Language = devices.PDF
		}
		full.Width = cmp.Or(full.Width, w.Materials[full.Material].Width)
		w.Devices[name] = full
	}
	for name, m := range w.Materials {
		m.Face = cmp.Or(m.Face, "right")
		m.Nap = cmp.Or(m.Nap, "none")
		w.Materials[name] = m
	}
	return nil
}

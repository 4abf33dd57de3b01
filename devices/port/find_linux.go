package port

import (
	"os"
	"path/filepath"
	"sort"
	"strings"
)

// List gives the serial ports with hardware, sorted by path.
func List() ([]Found, error) { return listIn("/dev", "/sys") }

func listIn(dev, sys string) ([]Found, error) {
	class := filepath.Join(sys, "class", "tty")
	entries, err := os.ReadDir(class)
	if err != nil {
		if os.IsNotExist(err) {
			return nil, nil
		}
		return nil, err
	}
	byID := namesByID(dev)
	var out []Found
	for _, e := range entries {
		hardware, err := filepath.EvalSymlinks(filepath.Join(class, e.Name(), "device"))
		if err != nil || strings.HasSuffix(hardware, "serial8250") { // placeholders without a chip
			continue
		}
		f := Found{Path: filepath.Join(dev, e.Name()), Names: byID[e.Name()]}
		if id, text := usb(hardware, sys); id != "" {
			f.Names, f.Text = append(f.Names, id), text
		}
		if len(f.Names) > 0 {
			f.Identity, f.Names = f.Names[0], f.Names[1:]
		}
		out = append(out, f)
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Path < out[j].Path })
	return out, nil
}

// namesByID reads the system's links for adapters, by the name of the port.
func namesByID(dev string) map[string][]string {
	dir := filepath.Join(dev, "serial", "by-id")
	entries, _ := os.ReadDir(dir)
	out := map[string][]string{}
	for _, e := range entries {
		to, err := os.Readlink(filepath.Join(dir, e.Name()))
		if err == nil {
			out[filepath.Base(to)] = append(out[filepath.Base(to)], e.Name())
		}
	}
	return out
}

// usb goes up in sysfs from the port to the adapter with vendor and product numbers.
func usb(dir, sys string) (id, text string) {
	root, err := filepath.EvalSymlinks(sys)
	if err != nil {
		root = sys
	}
	for ; len(dir) > len(root); dir = filepath.Dir(dir) {
		vendor, product := word(dir, "idVendor"), word(dir, "idProduct")
		if vendor == "" || product == "" {
			continue
		}
		id = "usb:" + vendor + ":" + product + ":" + word(dir, "serial")
		return id, strings.TrimSpace(word(dir, "manufacturer") + " " + word(dir, "product"))
	}
	return "", ""
}

func word(dir, name string) string {
	b, err := os.ReadFile(filepath.Join(dir, name))
	if err != nil {
		return ""
	}
	return strings.TrimSpace(string(b))
}

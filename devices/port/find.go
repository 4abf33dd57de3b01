package port

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"tracewheel/devices"
)

// Found is a serial port of this computer.
type Found struct {
	// Path is its present path; Identity stays the same after replugging, "" where there is none.
	Path, Identity string
	// Names are further identities of the same port.
	Names []string
	// Text is the adapter's description of itself.
	Text string
}

// find gives the path of the port with an identity: a name in /dev/serial/by-id, or "usb:VENDOR:PRODUCT:SERIAL" with
// the adapter's hexadecimal numbers. Where it is not plugged in, the error wraps devices.ErrGone and lists the ports
// that are.
func find(identity string) (string, error) {
	ports, err := List()
	if err != nil {
		return "", fmt.Errorf("port with identity %q: %w", identity, err)
	}
	return pick(ports, identity)
}

// Where gives the system's present path of a profile's port, by which two names of one port are recognised. A path
// without a file is returned unchanged; for an identity that is not plugged in the error is that of find.
func Where(p devices.PortProfile) (string, error) {
	path := p.Path
	if p.Identity != "" {
		var err error
		if path, err = find(p.Identity); err != nil {
			return "", err
		}
	}
	return realPath(path), nil
}

func realPath(path string) string {
	if real, err := filepath.EvalSymlinks(path); err == nil {
		return real
	}
	return path
}

func pick(ports []Found, identity string) (string, error) {
	var hits, have []string
	for _, p := range ports {
		if p.is(identity) {
			hits = append(hits, p.Path)
		}
		if p.Identity != "" {
			have = append(have, fmt.Sprintf("%q", p.Identity))
		}
	}
	switch {
	case len(hits) == 1:
		return hits[0], nil
	case len(hits) > 1:
		return "", fmt.Errorf("port with identity %q: %s all carry it, as adapters without a serial number do; give a path instead", identity, strings.Join(hits, ", "))
	case len(have) == 0:
		return "", absent(fmt.Sprintf("port with identity %q: no adapter is plugged in", identity))
	}
	return "", absent(fmt.Sprintf("port with identity %q is not plugged in; there are %s", identity, strings.Join(have, ", ")))
}

func (p Found) is(identity string) bool {
	same := func(n string) bool { return strings.EqualFold(n, identity) }
	return identity != "" && (same(p.Identity) || slices.ContainsFunc(p.Names, same))
}

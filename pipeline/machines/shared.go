package machines

import (
	"fmt"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/devices/port"
)

// Places gives the real path of a profile's port; a test replaces it.
type Places func(devices.PortProfile) (string, error)

// Shared gives another device of the workroom that has the same port as this one, by whatever names: a path, a link to it,
// an identity; "" for none. The jobs of one would go to the machine of the other.
func Shared(room *config.Workroom, device string, where Places) (other string) {
	at, err := where(room.Devices[device].Port)
	if err != nil {
		return ""
	}
	for _, name := range room.DeviceNames() {
		if name == device || room.Devices[name].Kind.Prints() { // it has no port
			continue
		}
		if there, err := where(room.Devices[name].Port); err == nil && there == at {
			return name
		}
	}
	return ""
}

// SharedWords says it to a person.
func SharedWords(room *config.Workroom, device, other string) string {
	return fmt.Sprintf("%s and %s are on one port (%s and %s): nothing is sent before the workroom file gives each its own",
		device, other, portName(room, device), portName(room, other))
}

// portName is the workroom file's name for a device's port.
func portName(room *config.Workroom, device string) string {
	p := room.Devices[device].Port
	if p.Identity != "" {
		return fmt.Sprintf("identity %q", p.Identity)
	}
	return p.Path
}

var realPlaces Places = port.Where

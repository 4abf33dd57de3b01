package pipeline

import (
	"context"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/devices/port"
)

// DeviceState is one device as `devices` prints it.
type DeviceState struct {
	Name     string           `json:"name"`
	Kind     devices.Kind     `json:"kind"`
	Language devices.Language `json:"language"`
	Port     string           `json:"port"`
	State    string           `json:"state"`
	Detail   string           `json:"detail,omitempty"`
	Width    float64          `json:"width_mm"`
	// Length is 0 for a roll.
	Length      float64  `json:"length_mm"`
	BladeOffset *float64 `json:"blade_offset_mm,omitempty"`
	CutZ        *float64 `json:"cut_z_mm,omitempty"`
	SwivelZ     *float64 `json:"swivel_z_mm,omitempty"`
	SafeZ       *float64 `json:"safe_z_mm,omitempty"`
	Calibration string   `json:"calibration"`
}

// Devices tells how each device of a workroom is. Ports are opened for a moment and the device is
// asked where its language has a question for it; one that is being sent a job says that it is busy.
func Devices(ctx context.Context, room *config.Workroom) []DeviceState {
	var out []DeviceState
	for _, name := range room.DeviceNames() {
		p, _ := room.On(name, "")
		d := DeviceState{Name: name, Kind: p.Kind, Language: p.Language, Port: p.Port.Path,
			Width: p.Width, Length: p.Length, Calibration: calibrationWords(room, name)}
		if d.Port == "" {
			d.Port = p.Port.Identity
		}
		if p.Kind.Cuts() {
			b := p.Blade
			d.BladeOffset, d.CutZ, d.SwivelZ, d.SafeZ = &b.Offset, &b.CutZ, &b.SwivelZ, &b.SafeZ
		}
		st := port.Look(ctx, p)
		d.State, d.Detail = string(st.State), st.Text
		out = append(out, d)
	}
	return out
}

package main

import (
	"errors"
	"fmt"
	"strings"

	"tracewheel/config"
	"tracewheel/pipeline/testsquare"
)

// calibrations loads the workroom, names it, and loads what is kept of one of its devices.
func (a *app) calibrations(device string, asJSON bool) (*config.Workroom, *testsquare.Calibrations, error) {
	room, err := a.room(false)
	if err != nil {
		return nil, nil, err
	}
	nameRoom(a.beside(asJSON), room)
	if _, ok := room.Devices[device]; !ok {
		return nil, nil, usage(fmt.Errorf("there is no device %q; the workroom has %s", device, strings.Join(room.DeviceNames(), ", ")))
	}
	c, err := testsquare.Load(room, device)
	if err != nil {
		return nil, nil, refused(err)
	}
	return room, c, nil
}

// lengths reads lengths parted by commas; a bare number is in units of so many mm.
func lengths(list string, unit float64) ([]float64, error) {
	out, err := testsquare.Lengths(list, unit)
	if err != nil {
		return nil, usage(err)
	}
	return out, nil
}

// length is the one length of a flag.
func length(text string, unit float64) (float64, error) {
	all, err := lengths(text, unit)
	if err == nil && len(all) != 1 {
		err = usage(errors.New("one length is wanted, not " + text))
	}
	if err != nil {
		return 0, err
	}
	return all[0], nil
}

func (a *app) printAll(text string) { fmt.Fprint(a.out, text) }

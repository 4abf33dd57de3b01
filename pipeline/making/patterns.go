package making

import (
	"errors"
	"fmt"
	"maps"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/pipeline/cloths"
)

// OverrulePatterns hands over with a draft how often a pen draws a piece.
func OverrulePatterns(r *Request, room *config.Workroom, said string) error {
	switch d, ok := room.Devices[r.Device]; {
	case said == "" || devices.PatternsKnown(said) != nil:
		return devices.PatternsKnown(said)
	case r.Device == "":
		return errors.New("--patterns needs --device: without one the draft is shown as it is drawn")
	case ok && d.Kind.Cuts() && said == string(devices.PatternsOnce):
		return fmt.Errorf("%s is a cutter and cuts every copy; --patterns once is for pens", r.Device)
	}
	if r.Answers == nil {
		r.Answers = map[string]string{}
	}
	r.Answers[AnswerPatterns] = said
	return nil
}

// ForBodies is a draft for each of the bodies that are named, as it is where none is. What its ticket names beside it goes
// with the first.
func ForBodies(r Request, bodies string) []Request {
	names := cloths.Words(bodies)
	if len(names) == 0 {
		return []Request{r}
	}
	var out []Request
	for _, body := range names {
		r.Answers = maps.Clone(r.Answers)
		if r.Answers == nil {
			r.Answers = map[string]string{}
		}
		r.Answers["body"] = body
		out = append(out, r)
		r.Alone = true
	}
	return out
}

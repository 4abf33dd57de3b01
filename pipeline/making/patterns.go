package making

import (
	"errors"
	"fmt"
	"maps"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/pipeline/cloths"
)

// OverrulePatterns sets in a request how often a pen draws a piece, by the words of a person. It refuses unknown words and
// devices that cannot do so.
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

// ForBodies gives one request for each body that is named, or the request itself where none is. Drafts that its ticket
// names beside it go with the first.
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

package pattern

import (
	"fmt"
	"strings"
)

// AllowanceSaid reads what the ticket says of the allowance: included is true for a draft whose
// outline is the cut line already, width is in mm where a width is given, and nil otherwise. An
// empty ticket says neither. The error names what was written and what can be.
func (t Ticket) AllowanceSaid() (included bool, width *float64, err error) {
	text := strings.TrimSpace(strings.ToLower(t.Allowance))
	switch text {
	case "":
		return false, nil, nil
	case "included":
		return true, nil, nil
	}
	mm, err := ParseLength(text)
	if err != nil || mm < 0 || mm > 200 {
		return false, nil, fmt.Errorf("allowance %q is neither \"included\" nor a width up to 200 mm such as \"10mm\" or \"3/8in\"", t.Allowance)
	}
	return false, &mm, nil
}

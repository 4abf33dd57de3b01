package pattern

import (
	"fmt"
	"strconv"
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

// ParseLength reads a length as people write it - "10mm", "1.5 cm", "3/8 in", "1 1/2in", `5/8"` -
// and gives mm. A bare number is mm.
func ParseLength(text string) (float64, error) {
	s := strings.TrimSpace(strings.ToLower(text))
	scale := 1.0
	for _, u := range []struct {
		suffix string
		mm     float64
	}{{"mm", 1}, {"cm", 10}, {"inch", 25.4}, {"in", 25.4}, {`"`, 25.4}} {
		if rest, ok := strings.CutSuffix(s, u.suffix); ok {
			s, scale = strings.TrimSpace(rest), u.mm
			break
		}
	}
	var sum float64
	fields := strings.Fields(s)
	if len(fields) == 0 || len(fields) > 2 {
		return 0, fmt.Errorf("%q is not a length", text)
	}
	for i, f := range fields {
		v, err := number(f)
		if err != nil || i == 1 && !strings.Contains(f, "/") {
			return 0, fmt.Errorf("%q is not a length", text)
		}
		sum += v
	}
	return sum * scale, nil
}

// number reads a plain decimal or a fraction; the words and hexadecimal forms that the standard
// library also takes are no way to write a length.
func number(s string) (float64, error) {
	top, bottom, isFraction := strings.Cut(s, "/")
	if strings.Trim(top+bottom, "0123456789.") != "" {
		return 0, strconv.ErrSyntax
	}
	v, err := strconv.ParseFloat(top, 64)
	if err != nil || !isFraction {
		return v, err
	}
	d, err := strconv.ParseFloat(bottom, 64)
	if err != nil || d == 0 {
		return 0, strconv.ErrSyntax
	}
	return v / d, nil
}

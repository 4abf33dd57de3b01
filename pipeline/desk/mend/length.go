package mend

import (
	"regexp"
	"strconv"
	"strings"
)

var (
	// lengthWritten is a length as in a measure or a fitting.
	lengthWritten = regexp.MustCompile(`^(?:\d+(?:\.\d+)?|\.\d+|\d+ \d+/\d+|\d+/\d+)(?: ?(?:mm|cm|in))?$`)
	decimalComma  = regexp.MustCompile(`^(\d+),(\d{1,3})\b`)
	unitSpelt     = regexp.MustCompile(`(?i) ?(cms|centimetres?|centimeters?|mms|millimetres?|millimeters?|inch(?:es)?|ins|(?:in|cm|mm)\.|["\x{201d}\x{2033}])\.?$`)
	improper      = regexp.MustCompile(`^(\d+) (\d+)/(\d+)( ?(?:mm|cm|in))?$`)
	letterO       = regexp.MustCompile(`(\d)[oO]|[oO](\d)`)
)

// Length is the length that is most likely meant by a text that is none: "92,5" for 92.5, "92 cms" for 92 cm, "8o" for
// 80, "14 9/8 in" for 15 1/8 in. "" where none is known, and for a text that is a length.
func Length(said string) string {
	said = strings.Join(strings.Fields(said), " ")
	out := decimalComma.ReplaceAllString(said, "$1.$2")
	out = unitSpelt.ReplaceAllStringFunc(out, func(u string) string {
		switch u = strings.ToLower(strings.TrimSpace(u)); {
		case strings.HasPrefix(u, "c"):
			return " cm"
		case strings.HasPrefix(u, "m"):
			return " mm"
		}
		return " in"
	})
	out = properly(out)
	out = letterO.ReplaceAllString(out, "${1}0${2}")
	if out == said || !lengthWritten.MatchString(out) {
		return ""
	}
	return out
}

// properly writes a fraction that is 1 or more as a whole number and the rest.
func properly(said string) string {
	m := improper.FindStringSubmatch(said)
	if m == nil {
		return said
	}
	whole, _ := strconv.Atoi(m[1]) // only digits
	top, errTop := strconv.Atoi(m[2])
	bottom, errBottom := strconv.Atoi(m[3])
	if errTop != nil || errBottom != nil || bottom == 0 || top < bottom {
		return said
	}
	out := strconv.Itoa(whole + top/bottom)
	if rest := top % bottom; rest > 0 {
		out += " " + strconv.Itoa(rest) + "/" + strconv.Itoa(bottom)
	}
	return out + m[4]
}

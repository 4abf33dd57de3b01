package mend

import (
	"regexp"
	"strings"
)

var (
	// lengthWritten is a length as a measure or a fitting has it.
	lengthWritten = regexp.MustCompile(`^(?:\d+(?:\.\d+)?|\.\d+|\d+ \d+/\d+|\d+/\d+)(?: ?(?:mm|cm|in))?$`)
	decimalComma  = regexp.MustCompile(`^(\d+),(\d{1,3})\b`)
	unitSpelt     = regexp.MustCompile(`(?i) ?(cms|centimetres?|centimeters?|mms|millimetres?|millimeters?|inch(?:es)?|ins|["\x{201d}\x{2033}])\.?$`)
	letterO       = regexp.MustCompile(`(\d)[oO]|[oO](\d)`)
)

// Length is the length that is most likely meant by a text that is none: "92,5" for 92.5, "92 cms" for 92 cm, "8o" for
// 80. "" where nothing is known, and of what is a length already.
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
	out = letterO.ReplaceAllString(out, "${1}0${2}")
	if out == said || !lengthWritten.MatchString(out) {
		return ""
	}
	return out
}

package pattern

import (
	"cmp"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
)

// A length begins a text: a fraction with or without a whole number before it, or a decimal; then
// perhaps a unit.
var lengthForm = regexp.MustCompile(`^(?:(?:(\d+)[ -]+)?(\d+)/(\d+)|(\d+\.?\d*|\.\d+))\s*(mm|cm|inch|in|yd|m|"|″)?(?:\s+|$)`)

var (
	unitsOfLength = map[string]float64{"mm": 1, "cm": 10, "m": 1000, "inch": 25.4, "in": 25.4, "yd": 914.4, `"`: 25.4, "″": 25.4}
	oneSign       = strings.NewReplacer("½", " 1/2", "¼", " 1/4", "¾", " 3/4", "⅛", " 1/8", "⅜", " 3/8", "⅝", " 5/8", "⅞", " 7/8")
)

// ParseLength reads a length as people write it - "10mm", "1.5 cm", "3/8 in", "1 1/2in", "19-11/16in",
// `5½"` - and gives mm. A bare number is mm.
func ParseLength(text string) (float64, error) { return ParseLengthIn(text, 1) }

// ParseLengthIn is ParseLength where a bare number is in units of so many mm.
func ParseLengthIn(text string, unit float64) (float64, error) {
	all, err := ParseLengths(text, unit)
	if err != nil || len(all) != 1 {
		hint := ""
		if mean := LengthMeant(text); mean != "" {
			hint = "; write it as " + mean
		}
		return 0, fmt.Errorf("%q is not a length%s", text, hint)
	}
	return all[0], nil
}

// UnitMM is how many mm a unit has, 1 where it is not known.
func UnitMM(unit string) float64 { return cmp.Or(unitsOfLength[unit], 1) }

// LengthMeant is what a text that is no length was most likely meant to be: one with a comma for the point; "" where nobody
// can tell.
func LengthMeant(text string) string {
	point := strings.TrimSpace(strings.Replace(text, ",", ".", 1))
	if all, err := ParseLengths(point, 1); err != nil || len(all) != 1 || !strings.Contains(text, ",") {
		return ""
	}
	return point
}

// Bare tells whether a length is said without its unit.
func Bare(text string) bool {
	mm, err := ParseLength(text)
	in, _ := ParseLengthIn(text, 25.4)
	return err == nil && in != mm
}

// ParseLengths reads several lengths parted by blanks: "499.5 500", "19 11/16 19 3/4in". A bare number
// is in units of so many mm; the error names what is not a length.
func ParseLengths(text string, unit float64) ([]float64, error) {
	rest := strings.TrimSpace(oneSign.Replace(strings.ToLower(text)))
	var out []float64
	for rest != "" {
		m := lengthForm.FindStringSubmatch(rest)
		if m == nil {
			word, _, _ := strings.Cut(rest, " ")
			return nil, fmt.Errorf("%q is not a length", word)
		}
		v, err := lengthOf(m[1], m[2], m[3], m[4])
		if err != nil {
			return nil, fmt.Errorf("%q is not a length", strings.TrimSpace(m[0]))
		}
		if mm, said := unitsOfLength[m[5]]; said {
			v *= mm
		} else {
			v *= unit
		}
		out, rest = append(out, v), rest[len(m[0]):]
	}
	return out, nil
}

// lengthOf adds up a whole number and a fraction, or reads a decimal.
func lengthOf(whole, top, bottom, decimal string) (float64, error) {
	if decimal != "" {
		return strconv.ParseFloat(decimal, 64)
	}
	sum := 0.0
	if whole != "" {
		v, err := strconv.ParseFloat(whole, 64)
		if err != nil {
			return 0, err
		}
		sum = v
	}
	t, err := strconv.ParseFloat(top, 64)
	if err != nil {
		return 0, err
	}
	b, err := strconv.ParseFloat(bottom, 64)
	if err != nil || b == 0 {
		return 0, strconv.ErrSyntax
	}
	return sum + t/b, nil
}

// Inches writes the fraction that a tape shows where one lies within a tenth of a millimetre -
// sixteenths - and else the nearest in 64ths, which lies within a fifth. The length is in mm.
func Inches(mm float64) string {
	in, bottom := mm/25.4, 16
	if math.Abs(in*16-math.Round(in*16))*25.4/16 > 0.1 {
		bottom = 64
	}
	parts := math.Round(in * float64(bottom))
	n := int(math.Abs(parts))
	whole := n / bottom
	n %= bottom
	for n > 0 && n%2 == 0 {
		n, bottom = n/2, bottom/2
	}
	text := ""
	switch {
	case n == 0:
		text = strconv.Itoa(whole)
	case whole == 0:
		text = fmt.Sprintf("%d/%d", n, bottom)
	default:
		text = fmt.Sprintf("%d %d/%d", whole, n, bottom)
	}
	if parts < 0 {
		text = "-" + text
	}
	return text
}

// ReadIn is the unit in which lengths of the draft are told - "mm", "cm" or "in": its own where a person wrote the draft,
// inches of what is drawn in inches, else the workroom's.
func (p *Pattern) ReadIn(room string) string {
	switch unit := strings.ToLower(p.Unit); {
	case unit == "in", unit == "inch", unit == "inches", unit == "english", unit == "ft":
		return "in"
	case p.Format == "measured" && unit != "":
		return unit
	}
	return cmp.Or(room, "mm")
}

// Length writes a length in mm with its unit, see SayLength.
func Length(mm float64, unit string) string { return SayLength(mm, unit) + " " + unit }

// FineLength writes a length in mm that no tape shows, as a decimal with its unit: "0.05 mm", "0.002 in".
func FineLength(mm float64, unit string) string {
	parts := map[string]float64{"mm": 100, "cm": 1000, "in": 1000}[unit]
	return strconv.FormatFloat(math.Round(mm/unitsOfLength[unit]*parts)/parts+0, 'f', -1, 64) + " " + unit
}

// SayLength writes a length in mm as a tape in a unit ("in", "cm", "mm") shows it, without the unit: a
// fraction of an inch, a decimal where it is less than a tape shows; or a decimal to a tenth of a mm.
func SayLength(mm float64, unit string) string {
	switch unit {
	case "in":
		if math.Abs(mm) < 25.4/128 {
			return strings.TrimSuffix(FineLength(mm, unit), " in")
		}
		return Inches(mm)
	case "cm":
		return strconv.FormatFloat(math.Round(mm*10)/100+0, 'f', -1, 64)
	}
	return Tenths(mm)
}

// Tenths writes a number to a tenth: "9", "1.5".
func Tenths(v float64) string {
	return strconv.FormatFloat(math.Round(v*10)/10+0, 'f', -1, 64) // + 0: no minus before nought
}

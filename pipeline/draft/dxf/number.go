package dxf

import "strconv"

// parseNumber reads a decimal number: a sign, digits with one point, an exponent. The words, hexadecimal
// forms and underscores that the standard library takes, and the decimal commas that some writers
// make, are no numbers of a DXF file; neither is what does not fit a float64.
func parseNumber(b []byte) (v float64, ok bool) {
	i, digits := 0, 0
	if i < len(b) && (b[i] == '+' || b[i] == '-') {
		i++
	}
	point := false
	for ; i < len(b); i++ {
		switch c := b[i]; {
		case c >= '0' && c <= '9':
			digits++
			continue
		case c == '.' && !point:
			point = true
			continue
		}
		break
	}
	if digits == 0 {
		return 0, false
	}
	if i < len(b) && !exponent(b[i:]) {
		return 0, false
	}
	v, err := strconv.ParseFloat(string(b), 64)
	return v, err == nil
}

func exponent(b []byte) bool {
	if b[0] != 'e' && b[0] != 'E' {
		return false
	}
	b = b[1:]
	if len(b) > 0 && (b[0] == '+' || b[0] == '-') {
		b = b[1:]
	}
	for _, c := range b {
		if c < '0' || c > '9' {
			return false
		}
	}
	return len(b) > 0
}

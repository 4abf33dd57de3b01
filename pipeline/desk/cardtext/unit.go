package cardtext

import (
	"cmp"
	"math"

	"tracewheel/pipeline/desk/checks"
	"tracewheel/pipeline/desk/mend"
	"tracewheel/pipeline/pattern"
)

// Converted are measures in another unit, with the words after their commas; what cannot be read stays unchanged.
func Converted(measures map[string]string, from, to string) map[string]string {
	out := map[string]string{}
	for name, v := range measures {
		out[name] = v
		number, where, told := Parts(v)
		if mm, err := pattern.ParseLengthIn(cmp.Or(mend.Length(number), number), checks.UnitMM[from]); err == nil {
			if to != "in" {
				mm = math.Round(mm) // as exact as a tape
			}
			if out[name] = checks.SayIn(mm, to); told {
				out[name] += "," + where
			}
		}
	}
	return out
}

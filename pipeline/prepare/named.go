package prepare

import (
	"fmt"

	"tracewheel/pipeline/pattern"
)

// Called are the names of prepared pieces. In a job of several garments each name begins with its draft, and garments
// that do not differ otherwise are numbered: "Ferry smock 2: front".
func Called(parts []Part, ready []pattern.Ready) []string {
	type kind struct{ draft, size string }
	of, numbers, drafts := map[int]kind{}, map[int]int{}, map[string]bool{}
	alike := map[kind]int{}
	for i := range ready {
		r := &ready[i]
		if len(parts) < 2 || r.Draft >= len(parts) || numbers[r.Garment] > 0 {
			continue
		}
		k := kind{parts[r.Draft].Pattern.Called(), r.Size}
		alike[k]++
		of[r.Garment], numbers[r.Garment], drafts[k.draft] = k, alike[k], true
	}
	out := make([]string, len(ready))
	for i := range ready {
		k := of[ready[i].Garment]
		switch name := ready[i].Name; {
		case alike[k] > 1:
			out[i] = fmt.Sprintf("%s %d: %s", k.draft, numbers[ready[i].Garment], name)
		case len(drafts) > 1:
			out[i] = k.draft + ": " + name
		default:
			out[i] = name
		}
	}
	return out
}

// Copies are the names of prepared pieces, made different for the copies of one piece.
func Copies(parts []Part, ready []pattern.Ready) []string {
	out := Called(parts, ready)
	for i, r := range ready {
		if r.Size != "" {
			out[i] += ", " + r.Size
		}
		if r.Copies > 1 {
			out[i] += fmt.Sprintf(", %d of %d", r.Copy, r.Copies)
		}
		if r.Mirrored {
			out[i] += ", turned over"
		}
	}
	return out
}

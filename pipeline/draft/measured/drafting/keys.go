package drafting

import (
	"strings"

	"tracewheel/pipeline/draft/measured/sentence"
)

// isFlare tells a flare from a number that is only called so.
func isFlare(x sentence.Entry) bool {
	if x.Key != "flare" || x.Sentence == nil {
		return false
	}
	t := strings.NewReplacer("at least", "", "at most", "").Replace(string(x.Sentence.Text)) // bounds of a number
	return strings.Contains(t, "hung from") || strings.Contains(t, "slash") || t != "" && t[0] >= '0' && t[0] <= '9' && strings.Contains(t, " at ")
}

// isPleat tells a pleat, or a run of them, from a number that is only called so.
func isPleat(x sentence.Entry) bool {
	switch w, _, _ := strings.Cut(x.Key, " "); w {
	case "pleat", "tuck":
		return true
	case "pleats", "tucks":
		return x.Sentence != nil && strings.ContainsAny(string(x.Sentence.Text), ",;")
	}
	return false
}

// isPrincess tells a princess seam from an edge that is only called so.
func isPrincess(x sentence.Entry) bool {
	if x.Key != "princess" || x.Sentence == nil {
		return false
	}
	p := &sentence.Cursor{Sentence: x.Sentence}
	for _, begin := range []string{"line half the", "line from", "curve half the", "curve from", "through", "from"} {
		if p.Is(begin) >= 0 {
			return true
		}
	}
	return strings.Contains(string(x.Sentence.Text), " takes ")
}

// IsDartKey tells the name of a dart.
func IsDartKey(k string) bool { return k == "dart" || len(k) > 5 && k[:5] == "dart " }

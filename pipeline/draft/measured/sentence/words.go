package sentence

import (
	"fmt"
	"slices"
	"strings"

	"tracewheel/config"
)

// FirstWords is the first n words of a text.
func FirstWords(s string, n int) string {
	f := strings.Fields(s)
	return strings.Join(f[:min(n, len(f))], " ")
}

// otherWords are words that a cutter may well write and that are not understood, each with those that
// are: which of them is meant depends on what may stand there.
var otherWords = map[string][]string{
	"drop": {"down"}, "lower": {"down"}, "below": {"down"}, "raise": {"up"}, "lift": {"up"}, "above": {"up"},
	"across": {"out", "level"}, "over": {"out"}, "along": {"toward"}, "left": {"back"}, "right": {"out"}, "in": {"back"},
	"parallel": {"by"}, "square": {"square to", "from"}, "perpendicular": {"square to", "from"}, "sloping": {"falling"},
	"midway": {"half-way"}, "mid-point": {"half-way"}, "midpoint": {"half-way"}, "middle": {"half-way"},
	"centre": {"half-way"}, "center": {"half-way"}, "intersection": {"where"}, "crossing": {"where"}, "on": {"along"},
	"straight": {"line"}, "join": {"line"}, "connect": {"line"}, "draw": {"line"}, "rule": {"line"},
	"french": {"curve"}, "smooth": {"curve"}, "shape": {"curve"}, "hollow": {"bowed", "curve"}, "hollowed": {"bowed", "curve"},
	"curved": {"bowed", "curve"}, "bulging": {"bowed"},
	"mirror": {"mirrored"}, "swing": {"swung"}, "pivot": {"swung"}, "rotate": {"turned"}, "turn": {"turned"}, "divide": {"half-way"},
	"vertical": {"plumb"}, "vertically": {"plumb"}, "upright": {"plumb"}, "horizontal": {"level"}, "horizontally": {"level"},
	"lengthwise": {"plumb"}, "crosswise": {"level"}, "tangent": {"along"},
	"max": {"larger of"}, "maximum": {"larger of"}, "min": {"smaller of"}, "minimum": {"smaller of"}, "sqrt": {"root of"},
	"chest": {"bust"}, "hips": {"hip"}, "seat": {"hip"}, "waistline": {"waist"},
	"bias": {"on the bias"}, "included": {"allowance included"}, "grainline": {"grain"},
	"seams": {"all"}, "seam": {"all"}, "seam allowance": {"all"}, "rest": {"all"}, "everything": {"all"}, "others": {"all"},
	"drill": {"drill at"}, "loop": {"loop at"}, "hole": {"drill at"}, "button": {"drill at"}, "cut": {"slit"}, "write": {"text"},
	"single": {"one"}, "double": {"two"}, "triple": {"three"}, "1": {"one"}, "2": {"two"}, "3": {"three"},
	"title": {"style"}, "name": {"style"}, "units": {"unit"}, "measures": {"body"}, "measurements": {"body"}, "points": {"draft"},
	"allowance": {"allow"}, "allowances": {"allow"}, "turnings": {"allow"}, "seam allowances": {"allow"}, "sew": {"sewn"}, "pairs": {"sewn"},
	"fabric": {"cloth"}, "material": {"cloth"}, "haberdashery": {"notions"}, "trims": {"notions"}, "size": {"sizes"},
	"ruffled": {"gathered"}, "frilled": {"gathered"}, "shirred": {"gathered"}, "gathers": {"gathered"}, "gather": {"gathered"}, "overlap": {"underlap"},
	"square ended": {"squared"}, "turned back": {"folded back"},
}

// OtherWord is the known word that a cutter's own one stands for, "" for none.
func OtherWord(word string, known []string) string {
	for _, w := range otherWords[strings.ToLower(word)] {
		if slices.Contains(known, w) {
			return w
		}
	}
	return ""
}

// OneSlip tells whether two names are one letter apart: put in, left out, changed, or swapped with its neighbour.
func OneSlip(a, b string) bool { return config.OneSlip(a, b) }

// Nearest ends a refusal of a word: the nearest right one, or all there are.
func Nearest(word string, known []string) string {
	first, _, _ := strings.Cut(word, " ")
	if like := holding(word, known); first == word && len(word) <= 3 && len(like) > 0 && OtherWord(word, known) == "" {
		return "known here are " + strings.Join(like[:min(len(like), 6)], ", ") // short names are like too many others
	}
	for _, n := range []string{OtherWord(word, known), config.Nearest(word, known), OtherWord(first, known), onlyLonger(word, known)} {
		if n != "" {
			return fmt.Sprintf("did you mean %q?", n)
		}
	}
	if len(known) == 0 {
		return ""
	}
	if like := holding(word, known); len(like) > 0 && len(like) <= 6 {
		return "known here are " + strings.Join(like, ", ")
	}
	if len(known) > 12 {
		return fmt.Sprintf("known here are %s and %d more", strings.Join(known[:12], ", "), len(known)-12)
	}
	return "known here are " + strings.Join(known, ", ")
}

// holding lists the known names in which all words of what was said occur, in their order: "apex" in
// "apex depth", "peplum radius" in "peplum front radius".
func holding(said string, known []string) []string {
	var out []string
	words := strings.Fields(said)
	for _, k := range known {
		i := 0
		for _, w := range strings.Fields(k) {
			if i < len(words) && w == words[i] {
				i++
			}
		}
		if len(words) > 0 && i == len(words) && !slices.Contains(out, k) {
			out = append(out, k)
		}
	}
	return out
}

// onlyLonger is the one known name that begins with the word, "" for none or several; a slip in the
// word is let pass: "dirll" is meant for "drill at".
func onlyLonger(word string, known []string) string {
	found := ""
	for _, k := range known {
		first, _, more := strings.Cut(k, " ")
		if !more || word == "" || first != word && config.Nearest(word, []string{first}) == "" {
			continue
		}
		if found != "" {
			return ""
		}
		found = k
	}
	return found
}

// After is what stands behind.
func (p *Cursor) After() string {
	p.Space()
	return strings.TrimSpace(string(p.Sentence.Text[p.At:]))
}

// Rest takes all that stands behind.
func (p *Cursor) Rest() string {
	rest := p.After()
	p.At = len(p.Sentence.Text)
	return rest
}

// Said is what was read from a rune on.
func (p *Cursor) Said(from int) string { return strings.TrimSpace(string(p.Sentence.Text[from:p.At])) }

// Before is the last word that was understood.
func (p *Cursor) Before() string {
	f := strings.Fields(string(p.Sentence.Text[:p.At]))
	if len(f) == 0 {
		return ""
	}
	return f[len(f)-1]
}

package measured

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"tracewheel/config"
)

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
	"square ended": {"squared"}, "turned back": {"folded back"},
}

// otherWord is the known word that a cutter's own one stands for, "" for none.
func otherWord(word string, known []string) string {
	for _, w := range otherWords[strings.ToLower(word)] {
		if slices.Contains(known, w) {
			return w
		}
	}
	return ""
}

// nearest ends a refusal of a word: the nearest right one, or all there are.
func nearest(word string, known []string) string {
	first, _, _ := strings.Cut(word, " ")
	if like := holding(word, known); first == word && len(word) <= 3 && len(like) > 0 && otherWord(word, known) == "" {
		return "known here are " + strings.Join(like[:min(len(like), 6)], ", ") // short names are like too many others
	}
	for _, n := range []string{otherWord(word, known), config.Nearest(word, known), otherWord(first, known), onlyLonger(word, known)} {
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

// beginning refuses a sentence that begins with no word known, "" where nothing better can be said
// than that it is no number.
func (p *parser) beginning() string {
	words := append(append([]string(nil), pointVerbs...), curveVerbs...)
	w := p.word()
	switch {
	case slices.Contains(stepVerbs, w) || w == "square" || w == "perpendicular":
		return "a point is told from another: begin with from and its name"
	case slices.Contains(circleShareOrPleat, w):
		return "a pleat's line begins with pleat, a piece's stands under pieces"
	}
	if n := nearest(w, words); strings.HasPrefix(n, "did") {
		return n
	}
	return ""
}

var circleShareOrPleat = []string{"inverted", "knife", "box", "full", "three-quarter"}

// moreWords begin what more is said in a sentence, behind a comma; markFirst begin a mark.
var (
	moreWords = []string{"stitched", "softened", "rounded", "leaving", "arriving", "pulled", "radius", "takes", "eased", "hung", "overlapping", "between", "called", "within", "pointed", "laid"}
	markFirst = []string{"line", "slit", "drill", "loop", "text"}
)

// leftOver says what may mend a sentence that goes on behind what was understood.
func (p *parser) leftOver() string {
	w := p.word()
	switch {
	case slices.Contains(stepVerbs, w):
		return "the way comes before its length, and a point begins with from: from O " + w + " " + p.before()
	case w == "x" || w == "by":
		return "say times, or *"
	case p.runeAt(p.i) == '(':
		return "put * before the bracket"
	case p.s.lines[p.i] > p.s.lines[0] && w == "":
		return "each sentence of a list stands in a line of its own, behind a dash and a space"
	case p.s.lines[p.i] > p.s.lines[0] && slices.Contains(markFirst, w):
		return "each sentence of a list stands in a line of its own, behind a dash and a space"
	case w == "round" || w == "soften" || w == "softening":
		return "say softened at a corner, or rounded at, behind a comma"
	case slices.Contains(moreWords, w):
		return "put a comma before it"
	case p.runeAt(p.i) == '\\':
		return "a fraction is written 3/4"
	case p.runeAt(p.i) == ';':
		return "only pieces and notches take a semicolon here: put a comma"
	case p.sc != nil && w != "" && unicode.IsLetter([]rune(w)[0]):
		if _, ok := p.name(p.sc.names(isNumber)); ok {
			return "put + - * or / between"
		}
	}
	return ""
}

// after is what stands behind.
func (p *cursor) after() string {
	p.space()
	return strings.TrimSpace(string(p.s.text[p.i:]))
}

// before is the last word that was understood.
func (p *cursor) before() string {
	f := strings.Fields(string(p.s.text[:p.i]))
	if len(f) == 0 {
		return ""
	}
	return f[len(f)-1]
}

// asKind says how a known thing is meant where another kind is wanted.
func (p *parser) asKind(name string, wanted, given kind) string {
	p.take(name)
	next := p.word()
	switch {
	case given == isPoint && slices.Contains(stepVerbs, next):
		return "begin with from: from " + name + " " + next
	case given == isPoint && wanted == isNumber && next == "to":
		return "say line " + name + " to, or curve, or arc"
	case given == isPoint && wanted == isNumber:
		return "say out of " + name + ", down of " + name + ", or distance " + name + " to another point"
	case given == isPoint:
		return "say line " + name + " to another point"
	case given == isCurve && wanted == isNumber:
		return "say length of " + name
	case given == isCurve:
		return "say along " + name + ", how far, and from which point; or name a point"
	}
	return ""
}

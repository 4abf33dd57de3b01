package tree

import (
	"cmp"
	"fmt"
	"slices"
	"sort"
	"strings"
	"unicode"

	"tracewheel/pipeline/draft/measured/sentence"
)

// beginning refuses a sentence that begins with no word known, "" where nothing better can be said
// than that it is no number.
func (p *Parser) beginning() string {
	words := append(append([]string(nil), pointVerbs...), curveVerbs...)
	w := p.Word()
	if rest := strings.TrimSpace(string(p.Sentence.Text[p.At+len([]rune(w)):])); rest != "" && strings.ContainsRune("+-−*×/÷", []rune(rest)[0]) {
		return "" // arithmetic
	}
	switch {
	case slices.Contains(stepVerbs, w) || w == "square" || w == "perpendicular":
		return "a point is told from another: begin with from and its name"
	case slices.Contains(circleShareOrPleat, w):
		return "a pleat's line begins with pleat, a piece's stands under pieces"
	}
	if n := sentence.Nearest(w, words); strings.HasPrefix(n, "did") {
		return n
	}
	return ""
}

var circleShareOrPleat = []string{"inverted", "knife", "box", "full", "three-quarter"}

// moreWords begin what more is said in a sentence, behind a comma; markFirst begin a mark.
var (
	moreWords = []string{"stitched", "softened", "rounded", "leaving", "arriving", "pulled", "radius", "takes", "eased", "hung", "overlapping", "between", "called", "within", "pointed", "laid", "gathered", "underlap"}
	markFirst = []string{"line", "slit", "drill", "loop", "text"}
)

// leftOver says what may mend a sentence that goes on behind what was understood.
func (p *Parser) leftOver() string {
	w := p.Word()
	line, _ := p.Sentence.Place(p.At)
	furtherDown := line > p.Sentence.Line
	before := p.At
	for before > 0 && unicode.IsSpace(p.RuneAt(before-1)) {
		before--
	}
	lineBefore, _ := p.Sentence.Place(before)
	switch {
	case slices.Contains(stepVerbs, w):
		return "the way comes before its length, and a point begins with from: from O " + w + " " + p.Before()
	case w == "on" && p.Take("on the fold"):
		return "on the fold stands behind the edge's name in the outline"
	case w == "x" || w == "by":
		return "say times, or *"
	case p.RuneAt(p.At) == '(':
		return "put * before the bracket"
	case furtherDown && (w == "" || slices.Contains(markFirst, w) || lineBefore < line):
		return "each sentence of a list stands in a line of its own, behind a dash and a space"
	case w == "round" || w == "soften" || w == "softening":
		return "say softened at a corner, or rounded at, behind a comma"
	case w == "rounded" || w == "softened":
		return "a corner is " + w + " in the sentence of the line that has it, by its point: line A to B to C, " + w + " at B 4"
	case slices.Contains(moreWords, w):
		return "put a comma before it"
	case p.RuneAt(p.At) == '\\':
		return "a fraction is written 3/4"
	case p.RuneAt(p.At) == ';':
		return "only pieces and notches take a semicolon here: put a comma"
	case p.Scope != nil && w != "" && unicode.IsLetter([]rune(w)[0]):
		if _, ok := p.Named(NumberKind); ok {
			return "put + - * or / between"
		}
	}
	return ""
}

// asKind says how a known thing is meant where another kind is wanted.
func (p *Parser) asKind(name string, wanted, given Kind) string {
	p.Take(name)
	next := p.Word()
	switch {
	case given == PointKind && slices.Contains(stepVerbs, next):
		return "begin with from: from " + name + " " + next
	case given == PointKind && wanted == NumberKind && next == "to":
		return "say line " + name + " to, or curve, or arc"
	case given == PointKind && wanted == NumberKind:
		return "say out of " + name + ", down of " + name + ", or distance " + name + " to another point"
	case given == PointKind:
		return "say line " + name + " to another point"
	case given == EdgeKind && wanted == NumberKind:
		return "say length of " + name
	case given == EdgeKind:
		return "say along " + name + ", how far, and from which point; or name a point"
	}
	return ""
}

// noStart refuses the place where a drawing begins, told as a person speaks of it: it is a point with a name.
func (p *Parser) noStart(at int) {
	said := strings.ToLower(string(p.Sentence.Text[at:]))
	for _, words := range []string{"the start", "the beginning", "start", "beginning"} {
		if rest, ok := strings.CutPrefix(said, words); ok && (rest == "" || !unicode.IsLetter([]rune(rest)[0])) {
			p.Fail(at, sentence.Quote(words)+" is no point known here", "the first point of a drawing is told as O: start; then say from O")
		}
	}
}

// unknown refuses what should have been a name, with the nearest right one.
func (p *Parser) unknown(at int, k Kind) {
	known := p.Scope.Names(k)
	if k == PointKind {
		p.shareInside(at)
		p.noStart(at)
	}
	said := p.Phrase()
	seek := p.Scope.Context.MayCompare(len(known))
	if seek {
		p.slip(at, k)
	}
	p.otherKind(at, k)
	if o := sentence.OtherWord(p.Word(), functions); k == NumberKind && o != "" {
		p.Fail(at, sentence.Quote(p.Word())+" is no measure or number known here", "did you mean "+sentence.Quote(o)+"?")
	}
	if said == "" {
		p.Fail(at, k.article()+" is wanted here, not "+p.Seen(), "")
	}
	if !seek {
		p.Fail(at, sentence.Quote(said)+" is no "+wordFor(k)+" known here", "tell it, or spell it as it is told")
	}
	var short []string // a name of this drawing once, and not with the drawing's own before it
	for _, n := range known {
		if of, own := strings.CutPrefix(n, p.Scope.Name+" "); !own || p.Scope.Name == "" || !slices.Contains(known, of) {
			short = append(short, n)
		}
	}
	sort.SliceStable(short, func(i, j int) bool { return len(short[i]) < len(short[j]) })
	words := strings.Fields(said)
	for n := len(words); n > 0; n-- {
		try := strings.Join(words[:n], " ")
		hint := sentence.Nearest(try, short)
		if strings.HasPrefix(hint, "did you") || n == 1 {
			hint = cmp.Or(hint, "nothing of the kind is known yet")
			if k == NumberKind && len(words) <= 3 && !strings.HasPrefix(hint, "did you") {
				try = said // a measure's name may be several words
			}
			if only, ok := strings.CutPrefix(hint, "known here are "); ok && k == PointKind && strings.HasSuffix(only, " "+try) && !strings.Contains(only, ", ") {
				hint = "did you mean " + sentence.Quote(only) + "?"
			}
			if k == PointKind && strings.HasPrefix(hint, "known") && strings.Contains(hint, " "+try) {
				hint += "; trace: and a drawing's name gives this one all of its points"
			}
			p.Fail(at, sentence.Quote(try)+" is no "+wordFor(k)+" known here", hint)
		}
	}
}

// shareInside refuses a share of the way that stands where a point is wanted.
func (p *Parser) shareInside(at int) {
	p.Space()
	from := p.At
	if !unicode.IsDigit(p.RuneAt(from)) {
		return
	}
	if _, whole := p.Digits(); whole && sentence.IsStroke(p.RuneAt(p.At)) {
		p.At++
		p.Digits()
	}
	share := p.Said(from)
	if p.Is("of the way") >= 0 {
		p.Fail(at, sentence.Quote(share+" of the way")+" begins a sentence, and stands for no point inside one",
			"tell it as a point of its own, and name that one here: M: "+share+" of the way from O to N")
	}
	p.At = from
}

// slip refuses a name of several words that is one slip of the pen from one that is known, and says where that is told:
// the slip may stand there.
func (p *Parser) slip(at int, k Kind) {
	if k != EdgeKind {
		return // of a point and a number, what they are like is told
	}
	words := strings.Fields(p.Phrase())
	for n := min(len(words), 4); n > 1; n-- {
		said := strings.Join(words[:n], " ")
		for _, name := range p.Scope.Names(k) {
			if !sentence.OneSlip(said, name) {
				continue
			}
			if d := p.Scope.named(name, k); d != nil && d.Measure == "" {
				p.Cursor.Fail(at, fmt.Sprintf("%q is no %s known here", said, wordFor(k)), fmt.Sprintf("line %d tells %q: write one for the other", d.Line, name))
			}
		}
	}
}

// otherKind refuses a name that is known as something else. Where its own sentence is refused,
// nothing more is said: it was not understood, so its kind is not known either.
func (p *Parser) otherKind(at int, k Kind) {
	for _, o := range []Kind{NumberKind, PointKind, EdgeKind} {
		if o == k {
			continue
		}
		from := p.At
		name, ok := p.Named(o)
		p.At = from
		if !ok {
			continue
		}
		if !p.Scope.Find(name, o).read() {
			p.GiveUp()
		}
		p.Fail(at, sentence.Quote(name)+" is "+o.article()+", and "+k.article()+" is wanted here", p.asKind(name, k, o))
	}
}

func wordFor(k Kind) string {
	if k == NumberKind {
		return "measure or number"
	}
	return k.String()
}

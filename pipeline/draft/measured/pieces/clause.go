package pieces

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
)

var clauseWords = []string{"cut", "on the bias", "in", "grain", "allowance included", "pointed at", "underlap", "note"}

// countAhead tells whether a number of pieces comes next without the word cut: "2 pieces".
func countAhead(p *tree.Parser) bool {
	at := p.At
	defer func() { p.At = at }()
	p.Space()
	if p.TakeAny(countWords...) == "" {
		for p.At < len(p.Sentence.Text) && p.RuneAt(p.At) >= '0' && p.RuneAt(p.At) <= '9' {
			p.At++
		}
	}
	return p.At > at && p.TakeAny("pieces", "piece") != ""
}

func clauseAhead(p *tree.Parser) bool {
	if countAhead(p) {
		return true
	}
	return slices.ContainsFunc(clauseWords, func(w string) bool { return p.Is(w) >= 0 })
}

// nextClause steps to what more is said of a piece: behind a semicolon, or behind a comma where it
// begins with a word of its own.
func nextClause(p *tree.Parser) bool {
	if p.Sign(';') {
		return !p.Done()
	}
	k := p.At
	p.Sign(',')
	if clauseAhead(p) {
		return true
	}
	p.At = k
	return false
}

// readClause reads one thing said of a piece.
func readClause(p *tree.Parser, pc *Piece) {
	at := p.At
	if countAhead(p) {
		readCut(p, pc)
		return
	}
	switch p.TakeAny(clauseWords...) {
	case "cut":
		readCut(p, pc)
	case "on the bias":
		pc.Grain, pc.Unsaid = "bias", false
	case "in":
		pc.Material = p.Phrase()
		if strings.Contains(pc.Material, " and ") {
			p.Fail(p.At, sentence.Quote(pc.Material)+" is more than one cloth", "give the piece of each cloth a line of its own")
		}
		p.At += len([]rune(pc.Material))
		p.Space()
	case "grain":
		pc.Unsaid = false
		if pc.Grain = p.TakeAny("plumb", "level"); pc.Grain == "" {
			w := p.Word()
			mend := "say plumb, level, or on the bias"
			if o := sentence.OtherWord(w, []string{"level", "plumb"}); o != "" {
				mend = "say grain " + o
			}
			p.Fail(p.At, sentence.Quote(w)+" is no way for the grain", mend)
		}
	case "allowance included":
		pc.Included = true
	case "pointed at":
		pc.Pointed = append(pc.Pointed, PointedAt(p, pc.names))
	case "underlap":
		if pc.from != nil || !slices.Contains(pc.names, "far end") && !slices.Contains(pc.names, "far side") {
			p.Fail(at, "an underlap is said of a strip or a rectangle", "of a drawn band, say it of its seam: front waist + back waist = band top, underlap 3 at end")
		}
		pc.underlap = p.SumWhere(tree.MoreThan0, "an underlap of %s", "say how much: underlap 3")
	case "note":
		pc.Note = p.Rest()
	default:
		mend := sentence.Nearest(p.Word(), clauseWords)
		if !strings.HasPrefix(mend, "did") {
			mend = "say cut and how many, on the bias, grain level, allowance included, pointed at, note, or in and the cloth"
		}
		p.Fail(at, p.Seen()+" is not said of a piece", mend)
	}
}

// PointedAt reads the edge, one of names, at whose end a corner is meant.
func PointedAt(p *tree.Parser, names []string) string {
	p.Space()
	at := p.At
	n, ok := p.Name(names)
	if !ok {
		p.Fail(at, sentence.Quote(p.Word())+" is no edge here", p.Scope.Context.Nearest(p.Word(), names))
	}
	return n
}

var countWords = []string{"one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"}

// readCut reads how many: "2, a pair", "1 on the fold", "one", "a pair", "2 pairs" (which are four).
func readCut(p *tree.Parser, pc *Piece) {
	p.Space()
	at := p.At
	if p.TakeAny("a pair", "one pair") != "" {
		pc.Quantity, pc.Pair = 2, true
		return
	}
	if w := p.TakeAny(countWords...); w != "" {
		for i, c := range countWords {
			if c == w {
				pc.Quantity = i + 1
			}
		}
	} else {
		q, _ := p.Digits() // no unit: 1 in linen is a number and a cloth
		if q != math.Trunc(q) || q < 1 || q > 999 {
			p.Fail(at, sentence.FormatNumber(q)+" pieces cannot be cut", "say a whole number: cut 2")
		}
		pc.Quantity = int(q)
	}
	p.TakeAny("pieces", "piece")
	comma := p.Sign(',')
	from := p.At
	switch p.TakeAny("on two folds", "on both folds", "on the folds", "on the fold", "on fold", "a pair", "pairs", "pair", "mirrored", "alike") {
	case "on two folds", "on both folds", "on the folds":
		pc.OnFold, pc.Twice = true, true
	case "on the fold", "on fold":
		pc.OnFold = true
	case "a pair", "mirrored":
		pc.Pair = true
	case "alike":
		pc.Alike = true
	case "pair", "pairs":
		pc.Pair = true
		if !comma {
			pc.Quantity *= 2
		}
	default:
		if comma && !clauseAhead(p) {
			p.Fail(from, p.Seen()+" is not said of a number to cut", "say a pair, alike, or on the fold; pieces of another cloth stand in a line of their own")
		}
		return
	}
	if pc.Pair && pc.Quantity%2 != 0 {
		p.Fail(at, fmt.Sprintf("%d pieces are no pairs", pc.Quantity), "cut 2, a pair is one and its mirror image")
	}
}

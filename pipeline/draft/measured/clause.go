package measured

import (
	"fmt"
	"math"
	"strings"
)

var clauseWords = []string{"cut", "on the bias", "in", "grain", "allowance included", "note"}

func (p *parser) clauseAhead() bool {
	for _, w := range clauseWords {
		if p.is(w) >= 0 {
			return true
		}
	}
	return false
}

// nextClause steps to what more is said of a piece: behind a semicolon, or behind a comma where it
// begins with a word of its own.
func (p *parser) nextClause() bool {
	if p.sign(';') {
		return !p.done()
	}
	k := p.i
	p.sign(',')
	if p.clauseAhead() {
		return true
	}
	p.i = k
	return false
}

// clause reads one thing said of a piece.
func (p *parser) clause(pc *piece) {
	at := p.i
	switch p.takeAny(clauseWords...) {
	case "cut":
		p.cut(pc)
	case "on the bias":
		pc.grain = "bias"
	case "in":
		pc.material = p.phrase()
		if strings.Contains(pc.material, " and ") {
			p.fail(p.i, quote(pc.material)+" is more than one cloth", "give the piece of each cloth a line of its own")
		}
		p.i += len([]rune(pc.material))
		p.space()
	case "grain":
		if pc.grain = p.takeAny("plumb", "level"); pc.grain == "" {
			w := p.word()
			mend := "say plumb, level, or on the bias"
			if o := otherWord(w, []string{"level", "plumb"}); o != "" {
				mend = "say grain " + o
			}
			p.fail(p.i, quote(w)+" is no way for the grain", mend)
		}
	case "allowance included":
		pc.included = true
	case "note":
		p.space()
		pc.note = strings.TrimSpace(string(p.s.text[p.i:]))
		p.i = len(p.s.text)
	default:
		mend := nearest(p.word(), clauseWords)
		if !strings.HasPrefix(mend, "did") {
			mend = "say cut and how many, on the bias, grain level, allowance included, note, or in and the cloth"
		}
		p.fail(at, p.seen()+" is not said of a piece", mend)
	}
}

var countWords = []string{"one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"}

// cut reads how many: "2, a pair", "1 on the fold", "one", "a pair", "2 pairs" (which are four).
func (p *parser) cut(pc *piece) {
	p.space()
	at := p.i
	if p.takeAny("a pair", "one pair") != "" {
		pc.quantity, pc.pair = 2, true
		return
	}
	if w := p.takeAny(countWords...); w != "" {
		for i, c := range countWords {
			if c == w {
				pc.quantity = i + 1
			}
		}
	} else {
		q, _ := p.digits() // no unit: 1 in linen is a number and a cloth
		if q != math.Trunc(q) || q < 1 || q > 999 {
			p.fail(at, num(q)+" pieces cannot be cut", "say a whole number: cut 2")
		}
		pc.quantity = int(q)
	}
	comma := p.sign(',')
	from := p.i
	switch p.takeAny("on the fold", "on fold", "a pair", "pairs", "pair", "mirrored") {
	case "on the fold", "on fold":
		pc.onFold = true
	case "a pair", "mirrored":
		pc.pair = true
	case "pair", "pairs":
		pc.pair = true
		if !comma {
			pc.quantity *= 2
		}
	default:
		if comma && !p.clauseAhead() {
			p.fail(from, p.seen()+" is not said of a number to cut", "say a pair, or on the fold; pieces of another cloth stand in a line of their own")
		}
		return
	}
	if pc.pair && pc.quantity%2 != 0 {
		p.fail(at, fmt.Sprintf("%d pieces are no pairs", pc.quantity), "cut 2, a pair is one and its mirror image")
	}
}

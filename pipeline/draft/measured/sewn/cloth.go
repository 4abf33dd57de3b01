package sewn

import (
	"cmp"
	"fmt"
	"math"
	"strings"
	"unicode"

	"github.com/paulmach/orb"

	"tracewheel/config"
	"tracewheel/pipeline/draft/measured/pieces"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
	"tracewheel/pipeline/pattern"
)

// readCloths reads "main: 150 wide, one way, washed first". The words behind the width are for the person who buys it.
func (e *Sewing) readCloths() {
	en, ok := e.Sections["cloth"]
	if !ok {
		return
	}
	var names []string
	for i := 0; i < len(en.Node.Content); i += 2 {
		names = append(names, en.Node.Content[i].Value)
	}
	e.Each("cloth", "a sentence", "say how wide it lies: 150 wide", func(x sentence.Entry) { e.then(e.readCloth(x)) })
	for _, pc := range e.Pieces {
		if n := config.Nearest(pc.Material, names); n != "" && n != pc.Material {
			e.Faults = append(e.Faults, pc.Parser.Fault(0, fmt.Sprintf("%q is cut in %q, which is no cloth of this draft", pc.Name, pc.Material), "did you mean "+sentence.Quote(n)+"?"))
		}
	}
}

// readCloth reads how wide a cloth lies; the function it gives finds the pieces that it is too narrow for: along the grain,
// with their allowances, opened out at the fold.
func (e *Sewing) readCloth(x sentence.Entry) func() {
	p := tree.NewParser(x.Sentence, e.Top)
	wide := p.Sum()
	said := p.Said(0)
	p.Want("wide", " and how wide the cloth lies")
	if !p.Done() && !p.Sign(',') {
		p.Fail(p.At, p.Seen()+" stands without a comma behind the width", "say "+said+" wide, "+p.After())
	}
	cloth := e.clothOf(p, x.Key)
	return func() {
		wide, cut, layers := wide(), false, false
		cloth.Width = wide * e.UnitMM
		for _, corners := range cloth.Avoid {
			if corners[2][1] > cloth.Width {
				e.Note(x.Sentence, pattern.RuleLeftOut, pattern.Warning, "a flaw reaches over the width of the cloth "+sentence.Quote(x.Key), "say how far across it lies, from the selvedge that is drawn below")
			}
		}
		e.Cloths = append(e.Cloths, cloth)
		for _, pc := range e.Pieces {
			if pc.Material == x.Key || pc.Material == "" && x.Key == "main" {
				cut = true
				layers = e.fitsCloth(pc, x, cloth, wide) || layers
			}
		}
		if folded := cloth.Fold != pattern.FoldBest && cloth.Fold != pattern.FoldNone; folded && cut && !layers {
			e.Note(x.Sentence, pattern.RuleTooWide, pattern.Warning, fmt.Sprintf("the cloth %q is %s, and no piece of it needs that", x.Key, cloth.Fold.Words()),
				"say nothing of the fold: the lay finds the one that takes least")
		}
		if !cut {
			e.Note(x.Sentence, pattern.RuleLeftOut, pattern.Note, "no piece is cut in the cloth "+sentence.Quote(x.Key),
				"say which: behind the piece in "+x.Key+"; one that says nothing is cut in main")
		}
	}
}

// clothOf reads what stands behind the width of a cloth as far as a lay depends on it: "one way", "one way within
// a garment", "quarter turns", "shrinks 3 %", "1 selvedge", "300 long", "0.5 apart", "5 for each end", "2 degrees off grain",
// a flaw with its place, "folded once" and its like. The rest is for the person who buys it.
func (e *Sewing) clothOf(p *tree.Parser, name string) pattern.Cloth {
	c := pattern.Cloth{Name: name}
	for !p.Done() {
		if p.RuneAt(p.At) == ',' {
			p.At++
			p.Space()
		}
		switch {
		case p.Take("does not fray"):
			if e.firm == nil {
				e.firm = map[string]bool{}
			}
			e.firm[name] = true
		case p.Take("one way within a garment"):
			c.Nap = pattern.NapGarment
		case p.Take("one way"):
			c.Nap = pattern.NapAll
		case p.Take("quarter turns"):
			c.QuarterTurns = true
		case p.Take("in one layer"):
			c.Fold = pattern.FoldNone
		case p.Take("folded once"):
			c.Fold = pattern.FoldOnce
		case p.Take("folded twice"):
			c.Fold = pattern.FoldTwo
		case p.Take("part folded"):
			c.Fold = pattern.FoldPart
		case p.Take("shrinks"):
			p.Space()
			from := p.At
			v, _ := p.Digits()
			if v < 0 || v > 50 || !p.Sign('%') {
				p.Fail(from, p.Seen()+" stands where a cloth says by how much it shrinks", "say shrinks 3 %")
			}
			c.Shrinkage = v / 100
		case p.RuneAt(p.At) >= '0' && p.RuneAt(p.At) <= '9':
			from := p.At
			switch v, mm := e.amount(p); {
			case p.Is("long") >= 0 && c.Length > 0, p.Is("apart") >= 0 && c.Gap > 0, p.Is("for each end") >= 0 && c.Ends > 0:
				p.Fail(from, "the cloth says that twice", "leave one of them out")
			case p.Take("selvedge"):
				c.Selvedge = mm
			case p.Take("long"):
				c.Length = mm
			case p.Take("apart"):
				c.Gap = mm
			case p.Take("for each end"):
				c.Ends = mm
			case p.Take("degrees off grain"):
				if c.Tilt = v; v > 10 {
					p.Fail(from, sentence.FormatNumber(v)+" degrees are too many off the grain", "say up to 10 degrees off grain, or quarter turns")
				}
			default:
				e.nearWord(p, from)
			}
		case p.RuneAt(p.At) == '-' && unicode.IsDigit(p.RuneAt(p.At+1)):
			p.Fail(p.At, p.Seen()+" is less than 0", "say it without the minus")
		case p.TakeAny("flaw", "a flaw") != "":
			c.Avoid = append(c.Avoid, e.flaw(p))
		}
		for p.At < len(p.Sentence.Text) && p.Sentence.Text[p.At] != ',' {
			p.At++
		}
	}
	return c
}

// clothWords stand behind a number that a cloth says.
var clothWords = []string{"selvedge", "long", "apart", "for each end", "degrees off grain"}

// nearWord refuses words behind a number that are nearly those of clothWords: they would be taken as words for the buyer.
func (e *Sewing) nearWord(p *tree.Parser, from int) {
	end := p.At
	for end < len(p.Sentence.Text) && p.Sentence.Text[end] != ',' {
		end++
	}
	if n := config.Nearest(strings.TrimSpace(string(p.Sentence.Text[p.At:end])), clothWords); n != "" {
		p.Fail(from, p.Seen()+" is not known of a cloth", "did you mean "+sentence.Quote(n)+"?")
	}
}

// amount reads a number, with its fraction, and what it is in mm as a length.
func (e *Sewing) amount(p *tree.Parser) (v, mm float64) {
	from := p.At
	v, whole := p.Digits()
	if p.RuneAt(p.At) == ',' && unicode.IsDigit(p.RuneAt(p.At+1)) {
		p.Fail(from, p.Seen()+" stands with a comma inside a number", "write a point, as in 0.5; else a space after the comma")
	}
	switch {
	case sentence.IsStroke(p.RuneAt(p.At)):
		v = p.DividedBy(v)
	case whole && p.RuneAt(p.At) == ' ':
		v += p.FractionBehind()
	}
	for _, u := range sentence.UnitWords {
		if p.TakeAny(u.Words...) != "" {
			return v, v * u.MM
		}
	}
	return v, v * e.UnitMM
}

// flaw reads "20 to 25 along and 40 to 45 across" and gives the corners of that place in mm: along from the cut end, across
// from the selvedge that is drawn below.
func (e *Sewing) flaw(p *tree.Parser) []orb.Point {
	var at [4]float64
	for i, behind := range []string{"to", "along and", "to", "across"} {
		p.Space()
		from := p.At
		if r := p.RuneAt(p.At); r >= '0' && r <= '9' {
			_, at[i] = e.amount(p)
		}
		if at[i] > 100e3 {
			p.Fail(from, "the flaw lies more than 100 m away", "say where it is on the cloth")
		}
		if p.At == from || !p.Take(behind) {
			p.Fail(p.At, p.Seen()+" stands where a flaw says where it is", "say flaw 20 to 25 along and 40 to 45 across")
		}
	}
	b := orb.MultiPoint{{at[0], at[2]}, {at[1], at[3]}}.Bound()
	return []orb.Point{b.Min, {b.Max[0], b.Min[1]}, b.Max, {b.Min[0], b.Max[1]}}
}

// cutOrMarked lets buttonholes be marked only that are to be cut in a cloth which is not said not to fray: one that
// frays is cut when the buttonhole is worked (common practice).
func (e *Sewing) cutOrMarked() {
	for _, pc := range e.Pieces {
		told := false
		for i, m := range pc.Marks {
			cloth := cmp.Or(pc.Material, "main")
			if !m.Cut || e.firm[cloth] {
				continue
			}
			if pc.Marks[i].Cut = false; !told {
				f := e.Note(pc.Sentence, pattern.RuleLeftOut, pattern.Note, fmt.Sprintf("the buttonholes of %q are marked and not cut: the cloth %q is not said not to fray", pc.Name, cloth),
					"say does not fray behind the cloth, as of leather or felt; or leave cut out")
				f.Piece, f.Index = pc.Name, e.IndexOf(pc)
			}
			told = true
		}
	}
}

// fitsCloth tells of a piece that does not lie across its cloth as that is folded; layers is true for one that lies on a fold,
// or of which two are cut at once from two layers.
func (e *Sewing) fitsCloth(pc *pieces.Piece, x sentence.Entry, cloth pattern.Cloth, wide float64) (layers bool) {
	axis, bias := 0, false
	switch pc.Grain {
	case "bias":
		bias = true // it may be pieced
	case "level":
		axis = 1
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	for i, ed := range pc.Edges {
		w := pc.Width(i) / e.UnitMM
		for _, s := range ed.Curve {
			for k := range 9 {
				at, out := s.At(float64(k)/8), s.Dir(float64(k) / 8)[1-axis]
				lo, hi = math.Min(lo, at[axis]-w*math.Abs(out)), math.Max(hi, at[axis]+w*math.Abs(out))
			}
		}
	}
	half, need := hi-lo, hi-lo
	for _, ed := range pc.Edges {
		if u := ed.Curve[0].Dir(0); ed.Fold && math.Abs(u[axis]) < 0.5 { // the other half lies across
			need *= 2
		}
	}
	onFold, pair := need > half, pc.Quantity > 1 && !pc.Alike
	layers = onFold || pair && cloth.Fold != pattern.FoldPart
	selvedge := cloth.Selvedge / e.UnitMM
	var told string
	switch {
	case bias:
	case need > wide-2*selvedge+e.Hair():
		told = fmt.Sprintf("%q is %s wide and the cloth %q %s", pc.Name, e.WithUnit(need), x.Key, e.WithUnit(wide))
		if selvedge > 0 {
			told += ", selvedges " + e.WithUnit(selvedge) + " each"
		}
		f := e.Note(pc.Sentence, pattern.RuleTooWide, pattern.Warning, told, "take a wider cloth, turn the grain, or divide the piece by a seam")
		f.Piece, f.Index = pc.Name, e.IndexOf(pc)
		return layers
	case cloth.QuarterTurns && !onFold: // it may lie along as well
	case cloth.Fold == pattern.FoldOnce && layers && half > wide/2-selvedge+e.Hair():
		told = e.WithUnit(wide/2 - selvedge)
	case cloth.Fold == pattern.FoldTwo && layers && half > wide/4-selvedge+e.Hair():
		told = e.WithUnit(wide/4 - selvedge)
	case cloth.Fold == pattern.FoldPart && layers && 2*half+3*selvedge >= wide:
		told = e.WithUnit((wide - 3*selvedge) / 2)
	}
	if told != "" {
		f := e.Note(pc.Sentence, pattern.RuleTooWide, pattern.Warning, fmt.Sprintf("%q needs %s across, and the cloth %q, %s, has %s there", pc.Name, e.WithUnit(half), x.Key, cloth.Fold.Words(), told),
			"fold the cloth otherwise, or say nothing of the fold; or take a wider one")
		f.Piece, f.Index = pc.Name, e.IndexOf(pc)
	}
	return layers
}

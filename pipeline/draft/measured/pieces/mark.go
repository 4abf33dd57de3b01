package pieces

import (
	"cmp"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/pleats"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
	"tracewheel/pipeline/pattern"
)

var markVerbs = []string{"line", "slit", "buttonhole", "lengthen or shorten", "drill at", "loop at", "button at", "tie at", "snap at", "hook at", "bust point at", "text", "buttonholes", "buttons", "loops", "ties", "snaps", "hooks"}

// readMarks reads what is drawn inside the pieces: "line A to B, called pocket line", "slit P to Q",
// "buttonhole P to Q", "lengthen or shorten P to Q", "drill at P", "loop at P", "button at P", "bust point at
// P", "text at P, words".
func (e *Garment) readMarks() {
	en, ok := e.Sections["marks"]
	if !ok {
		return
	}
	for _, x := range e.Entries(en.Node) {
		var pc *Piece
		for _, q := range e.Pieces {
			if q.Name == x.Key {
				pc = q
			}
		}
		if pc == nil && e.isGone(x.Key) {
			continue
		}
		if pc == nil {
			var names []string
			for _, q := range e.Pieces {
				names = append(names, q.Name)
			}
			mend := e.Nearest(x.Key, names)
			for _, q := range e.Pieces {
				if q.Drawing != nil && q.Drawing.Name == x.Key {
					mend = "marks stand by the piece: say " + q.Name
				}
			}
			e.AddFault(x.KeyNode, sentence.Quote(x.Key)+" is no piece of this draft", mend)
			continue
		}
		for _, s := range e.Sentences(e.readClosures(pc, x.Node)) {
			e.Try(func() { e.then(pc, e.readMark(tree.NewParser(s, pc.Scope), pc)) })
		}
	}
}

// readMark reads one mark; the function it gives draws it on the piece.
func (e *Garment) readMark(p *tree.Parser, pc *Piece) (draw func()) {
	switch verb := p.TakeAny(markVerbs...); verb {
	case "line":
		draw = readInnerLine(p, pc, "")
	case "slit", "buttonhole":
		if p.Is("at") >= 0 {
			mend := "say where it begins and where it ends: " + verb + " P to Q"
			if pc.plain {
				mend = "say where it begins and where it ends: " + verb + " " + e.Example(25.4) + " from end to " + e.Example(25.4+usualHole) + " from end"
			}
			p.Fail(p.At, "a "+verb+" is told by both of its ends, not at one place", mend)
		}
		draw = readInnerLine(p, pc, verb)
	case "lengthen or shorten":
		draw = readInnerLine(p, pc, "lengthen or shorten here")
	case "drill at":
		point := markPoint(p, pc)
		draw = func() { pc.Drills = append(pc.Drills, pc.Flat(point())) }
	case "loop at", "button at", "tie at", "snap at", "hook at", "bust point at":
		point := markPoint(p, pc)
		draw = func() { pc.ring(strings.TrimSuffix(verb, " at"), point()) }
	case "buttonholes", "buttons", "loops", "ties", "snaps", "hooks":
		draw = e.readClosure(p, pc, verb)
	case "text":
		p.Want("at", " and the point")
		point := markPoint(p, pc)
		p.Sign(',')
		words := p.Rest()
		if words == "" {
			p.Fail(p.At, "what the text says is missing", "say it behind a comma: text at P, centre front")
		}
		draw = func() { pc.Texts = append(pc.Texts, pattern.Label{At: e.ToMM(pc.Flat(point())), Text: words}) }
	default:
		mend := sentence.Nearest(p.Word(), markVerbs)
		if !strings.HasPrefix(mend, "did") {
			mend = "begin with one of: " + strings.Join(markVerbs, ", ") + "; as line A to B, called pocket line"
		}
		p.Fail(p.At, p.Seen()+" is no mark", mend)
	}
	p.End()
	return draw
}

func readInnerLine(p *tree.Parser, pc *Piece, name string) func() {
	across, whole := readAcross(p, pc)
	var from, to tree.Point
	if !whole {
		from = markPoint(p, pc)
		p.Want("to", " and where it ends")
		to = markPoint(p, pc)
	}
	cuts := name == "slit" || name == "buttonhole"
	what := name
	if p.Sign(',') {
		p.Want("called", "")
		name = p.Rest()
	}
	var slit *Slit
	if what == "slit" {
		slit = &Slit{Name: name, Sentence: p.Sentence}
		pc.Slits = append(pc.Slits, slit)
	}
	return func() {
		if whole {
			l := across()
			l.Name = name
			pc.addLine(l, slit)
			return
		}
		a, b := from(), to()
		if cuts && !pc.inOneLayer(p, what, a, b) {
			return
		}
		l := pleats.InnerLine{From: pc.Flat(a), To: pc.Flat(b), Name: name}
		if geom.Dist(l.From, l.To) < p.Scope.Context.Hair() {
			p.Refuse(0, "the line ends where it begins, at "+p.Where(a), "end it at another point")
		}
		pc.addLine(l, slit)
	}
}

// Slit is a slit that is marked, as it is called on its piece, and how long each of its sides is.
type Slit struct {
	Name     string
	Sentence *sentence.Sentence
	Long     float64
}

// addLine marks a line, which is a slit unless that is nil.
func (pc *Piece) addLine(l pleats.InnerLine, slit *Slit) {
	if l.Slit = slit != nil; l.Slit {
		slit.Long = geom.Dist(l.From, l.To)
	}
	pc.Marks = append(pc.Marks, l)
}

// markExtended marks where an edge lay that was laid farther out: a centre beyond which a button stand reaches.
func (pc *Piece) markExtended(d *drafting.Drawing) {
	for _, ed := range d.Extended {
		pc.Marks = append(pc.Marks, pleats.InnerLine{From: pc.Flat(ed.Curve.Start()), To: pc.Flat(ed.Curve.End()), Name: ed.Name + " line"})
	}
}

// NotchAt is the notch that stands at a point of the piece as cut, -1 for none.
func (pc *Piece) NotchAt(q orb.Point) int {
	const same = 1e-3 // of the draft's unit
	return slices.IndexFunc(pc.Notches, func(n Notch) bool { return geom.Dist(n.At, q) < same })
}

// MarksInOrder are the marked lines, those with a notch at either end, as pleats have, as a tape passes them: from left to
// right, or down where they begin along a plumb edge.
func (pc *Piece) MarksInOrder() []pleats.InnerLine {
	out := slices.Clone(pc.Marks)
	var at []int
	var sorted []pleats.InnerLine
	var box geom.Path
	for i, l := range out {
		if pc.NotchAt(l.From) >= 0 && pc.NotchAt(l.To) >= 0 {
			at, sorted, box.Points = append(at, i), append(sorted, l), append(box.Points, l.From)
		}
	}
	axis, b := 0, box.Bound()
	if b.Max[1]-b.Min[1] > b.Max[0]-b.Min[0] {
		axis = 1
	}
	slices.SortStableFunc(sorted, func(p, q pleats.InnerLine) int { return cmp.Compare(p.From[axis], q.From[axis]) })
	for k, i := range at {
		out[i] = sorted[k]
	}
	return out
}

package pieces

import (
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/pleats"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
	"tracewheel/pipeline/pattern"
)

var markVerbs = []string{"line", "slit", "drill at", "loop at", "text"}

// MakeMarks reads what is drawn inside the pieces: "line A to B, called pocket line", "slit P to Q",
// "drill at P", "loop at P", "text at P: words".
func (e *Garment) MakeMarks() {
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
			mend := sentence.Nearest(x.Key, names)
			for _, q := range e.Pieces {
				if q.Drawing != nil && q.Drawing.Name == x.Key {
					mend = "marks stand by the piece: say " + q.Name
				}
			}
			e.AddFault(x.KeyNode, sentence.Quote(x.Key)+" is no piece of this draft", mend)
			continue
		}
		for _, s := range e.Sentences(x.Node) {
			e.Try(func() { readMark(tree.NewParser(s, pc.Scope), pc) })
		}
	}
}

func readMark(p *tree.Parser, pc *Piece) {
	e := p.Scope.Context
	switch p.TakeAny(markVerbs...) {
	case "line":
		readInnerLine(p, pc, "")
	case "slit":
		readInnerLine(p, pc, "slit")
	case "drill at":
		pc.Drills = append(pc.Drills, pc.Flat(tree.Now(p, p.Point())))
	case "loop at":
		at := pc.Flat(tree.Now(p, p.Point()))
		half := 3 / e.UnitMM
		pc.Marks = append(pc.Marks, pleats.InnerLine{From: geom.Sub(at, orb.Point{half, 0}), To: geom.Add(at, orb.Point{half, 0}), Name: "loop"})
	case "text":
		p.Want("at", " and the point")
		at := pc.Flat(tree.Now(p, p.Point()))
		p.Sign(',')
		p.Space()
		words := strings.TrimSpace(string(p.Sentence.Text[p.At:]))
		p.At = len(p.Sentence.Text)
		if words == "" {
			p.Fail(p.At, "what the text says is missing", "")
		}
		pc.Texts = append(pc.Texts, pattern.Label{At: e.ToMM(at), Text: words})
	default:
		p.Fail(p.At, p.Seen()+" is no mark", sentence.Nearest(p.Word(), markVerbs))
	}
	p.End()
}

func readInnerLine(p *tree.Parser, pc *Piece, name string) {
	a := tree.Now(p, p.Point())
	p.Want("to", " and where it ends")
	l := pleats.InnerLine{From: pc.Flat(a), To: pc.Flat(tree.Now(p, p.Point())), Name: name}
	if p.Sign(',') {
		p.Want("called", "")
		p.Space()
		l.Name = strings.TrimSpace(string(p.Sentence.Text[p.At:]))
		p.At = len(p.Sentence.Text)
	}
	if geom.Dist(l.From, l.To) < p.Scope.Context.Hair() {
		p.Fail(0, "the line ends where it begins, at "+tree.FormatPoint(a), "")
	}
	pc.Marks = append(pc.Marks, l)
}

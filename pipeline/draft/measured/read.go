// Package measured reads garments drawn from body measures: a draft that is written as a cutter
// says it, in the order of work. See REFERENCE.md for the form.
//
// Inside, all lengths are in the draft's own unit, x out from the centre, y down; the pattern that
// comes out is in mm, y up.
package measured

import (
	"sort"

	yaml "go.yaml.in/yaml/v4"

	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/pieces"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/sewn"
	"tracewheel/pipeline/draft/measured/tree"
)

// Options say what the draft itself may not: for which body, and where its measure cards lie.
type Options = drafting.Options

// Error is every mistake found in one draft, each with its place.
type Error = sentence.Error

// drawGarment reads a draft and works it out for one body.
func drawGarment(data []byte, name string, opt Options) (e, left *sewn.Sewing, err error) {
	doc, err := parse(data, name)
	if err != nil {
		return nil, nil, err
	}
	return drawSides(*doc, opt, nil)
}

// drawSides is drawFor that draws the wearer's left side by itself where it is unlike the right one; left is nil where both are
// alike.
func drawSides(doc sentence.Document, opt Options, like *sewn.Sewing) (e, left *sewn.Sewing, err error) {
	if e, err = drawFor(doc, opt, like); err != nil || !e.OneSided {
		return e, nil, err
	}
	opt.Left = true
	if left, err = drawFor(doc, opt, e); err != nil {
		return nil, nil, saying(err, "the left side")
	}
	e.Share(left.Draft)
	sewn.JoinSides(e, left)
	return e, left, nil
}

func parse(data []byte, name string) (*sentence.Document, error) {
	doc, faults := sentence.ParseDoc(data, name)
	if faults != nil {
		return nil, &sentence.Error{Draft: name, List: faults}
	}
	return doc, nil
}

// drawFor works a draft out for one body. The document is its own copy, into which it brings blocks; before is the
// same drawn for another body, nil for none.
func drawFor(doc sentence.Document, opt Options, before *sewn.Sewing) (*sewn.Sewing, error) {
	fresh := doc
	e := drafting.NewDraft(&doc)
	e.Done = opt.Done
	if before != nil {
		e.KnowBodies(before.Draft)
	}
	g := &sewn.Sewing{Garment: pieces.NewGarment(e)}
	if e.Build(opt) {
		g.Read()
		workOut(g)
	}
	if e.GivenUp() {
		return nil, tree.ErrGivenUp
	}
	if len(e.Faults) > 0 {
		if err := withoutBody(fresh, opt, e); err != nil {
			return nil, err
		}
		err := &sentence.Error{Draft: doc.Name, Blocks: doc.Brought, List: e.Faults}
		err.Sort()
		return nil, err
	}
	return g, nil
}

// withoutBody reads a refused draft that has no measures at all once more, as if they were given: that it has none is told once,
// and not what only follows from it. Nil where it asks for none.
func withoutBody(doc sentence.Document, opt Options, first *drafting.Draft) error {
	if !first.Bodiless() {
		return nil
	}
	e := drafting.NewDraft(&doc)
	e.Done = opt.Done
	e.Suppose()
	g := &sewn.Sewing{Garment: pieces.NewGarment(e)}
	if e.Build(opt) {
		g.Read()
	}
	f, asks := e.NeedsMeasures()
	if !asks {
		return nil
	}
	err := &sentence.Error{Draft: doc.Name, Blocks: doc.Brought, List: append([]sentence.Fault{f}, e.Faults...)}
	err.Sort()
	return err
}

// Whole writes a draft with what it takes from blocks as one file that takes from none.
func Whole(data []byte, name string, opt Options) ([]byte, error) {
	doc, err := parse(data, name)
	if err != nil {
		return nil, err
	}
	e := drafting.NewDraft(doc)
	root := e.Whole(opt)
	if root == nil {
		return nil, &sentence.Error{Draft: name, Blocks: doc.Brought, List: e.Faults}
	}
	return yaml.Marshal(root)
}

// workOut draws what can be drawn of what is read: what is impossible is told beside the slips of the pen. Only of a
// draft without faults it is looked at what is sewn.
func workOut(e *sewn.Sewing) {
	slips := len(e.Faults)
	e.JudgeMeasures()
	for _, stage := range []func(){e.WorkOut, e.Make} {
		if stage(); len(e.Faults) > slips {
			e.BlameMeasures()
			return
		}
	}
	if e.GivenUp() {
		return // pieces may lack
	}
	e.JudgeSides()
	e.Sew()
	sewn.NoteUnused(e.Garment.Draft)
	sort.SliceStable(e.Findings, func(i, j int) bool { return e.Findings[i].Line < e.Findings[j].Line })
}

package measured

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/figures"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/sewn"
	"tracewheel/pipeline/pattern"
)

// Read draws a draft for one body, or for each of its sizes. A draft that cannot be drawn gives an *Error with
// the line of every fault; edges that cannot be sewn together are among the pattern's findings.
func Read(data []byte, name string, opt Options) (*pattern.Pattern, error) {
	return ReadFigured(data, name, opt, nil)
}

// ReadFigured is Read that tells the figures too, as BriefOf gives them, without drawing twice; it tells nothing of a
// draft that cannot be drawn.
func ReadFigured(data []byte, name string, opt Options, tell func(*figures.Figures)) (*pattern.Pattern, error) {
	doc, err := parse(data, name)
	if err != nil {
		return nil, err
	}
	e, left, err := drawSides(*doc, opt, nil)
	if err != nil {
		return nil, err
	}
	out := figures.Pattern(e)
	if left != nil {
		out = figures.PatternOfSides(e, left)
	}
	if tell != nil {
		tell(briefOf(e, left))
	}
	if opt.Body != "" {
		return out, nil
	}
	sizes := sizes(e)
	for i, size := range sizes {
		if size == e.Body || size == e.AskedBody {
			continue
		}
		o := opt
		o.Body = size
		f, left, err := drawSides(*doc, o, e)
		if err != nil {
			return nil, saying(err, "size "+size)
		}
		more := figures.Pattern(f)
		if left != nil {
			more = figures.PatternOfSides(f, left)
		}
		add(out, more, fmt.Sprintf("size %s: ", sizes[i]))
	}
	return out, nil
}

// FiguresOf draws a draft and lists its figures. The error is an *Error as of Read.
func FiguresOf(data []byte, name string, opt Options) (*figures.Figures, error) {
	e, left, err := drawGarment(data, name, opt)
	if err != nil {
		return nil, err
	}
	if left != nil {
		return figures.OfSides(e, left, figures.Of), nil
	}
	return figures.Of(e), nil
}

// BriefOf draws a draft and lists its figures without what each piece is chalked from. The error is an *Error as of
// Read.
func BriefOf(data []byte, name string, opt Options) (*figures.Figures, error) {
	e, left, err := drawGarment(data, name, opt)
	if err != nil {
		return nil, err
	}
	return briefOf(e, left), nil
}

func briefOf(e, left *sewn.Sewing) *figures.Figures {
	if left != nil {
		return figures.OfSides(e, left, figures.Brief)
	}
	return figures.Brief(e)
}

// add puts one more size behind a pattern's pieces. Of what is said of every size alike, once is enough.
func add(out, more *pattern.Pattern, size string) {
	from := len(out.Pieces)
	out.Pieces = append(out.Pieces, more.Pieces...)
	said := map[string]bool{}
	for _, f := range out.Findings {
		said[f.Rule+f.Message] = true
	}
	for _, f := range more.Findings {
		if said[f.Rule+f.Message] {
			continue
		}
		if f.Index >= 0 {
			f.Index += from
		}
		f.Message = size + f.Message
		out.Findings = append(out.Findings, f)
	}
	told := len(out.Corners)
	for _, c := range more.Corners {
		if slices.ContainsFunc(out.Corners[:told], func(o pattern.Corner) bool { return o.What == c.What && math.Abs(o.Degrees-c.Degrees) < 0.005 }) {
			continue
		}
		c.What, c.Index = size+c.What, c.Index+from
		out.Corners = append(out.Corners, c)
	}
}

// saying says of which size or side the faults are.
func saying(err error, what string) error {
	var me *sentence.Error
	if errors.As(err, &me) {
		for i := range me.List {
			me.List[i].Text = what + ": " + me.List[i].Text
		}
	}
	return err
}

// sizes lists the bodies that the draft wants together, each as a size of its own.
func sizes(e *sewn.Sewing) []string {
	if en, ok := e.Sections["sizes"]; ok {
		return drafting.SizesOf(en.Node)
	}
	return nil
}

package desk

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"time"

	"tracewheel/pipeline/desk/cardtext"
	"tracewheel/pipeline/desk/checks"
	"tracewheel/pipeline/desk/folder"
	"tracewheel/pipeline/desk/mend"
	"tracewheel/pipeline/desk/moved"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/picture"
	"tracewheel/pipeline/web"
)

// textLimit bounds a draft in the page, formLimit the form with it, in bytes: in the form a byte may take three, and
// eight in the draft as it was opened, which is JSON.
const (
	textLimit = 256 << 10
	formLimit = (3+8)*textLimit + 64<<10
)

// Time limits of a drawing: stroke while a person types, patience when the page is loaded, by opening it or by the
// button Draw.
const (
	stroke   = time.Second
	patience = 20 * time.Second
)

// hintOfMeasure says how to write a length where there is no better advice.
const hintOfMeasure = "write the figure, and its unit where it is another: 87.5 or 34 3/16 in"

// atMeasure completes a fault in a measure of the form with the advice, and with a replacement where one is known.
func (f *fault) atMeasure(name, value string, rule string) {
	f.Measure = name
	if rule == pattern.RuleMeasureUnlikely {
		return
	}
	number, where, told := cardtext.Parts(value)
	meant := mend.Length(number)
	if meant != "" && told {
		meant += "," + where
	}
	if meant == "" {
		if f.Mend == "" || !strings.Contains(f.Mend, "more than 0") {
			f.Mend = hintOfMeasure
		}
		return
	}
	f.Mend = "write " + meant
	f.Offer = &mend.Offer{Was: value, Word: meant}
}

// emptyMeasure is the form's measure that is missing for a fault, "" for none.
func (d *Desk) emptyMeasure(in wish, f pattern.Finding) string {
	name := mend.Missing(in.Text, f)
	if named := mend.Quoted.FindStringSubmatch(f.Message); name == "" && named != nil && strings.Contains(f.Message, "is no measure or number known here") {
		if _, there := in.Measures[named[1]]; there {
			name = named[1]
		}
	}
	values := in.Measures
	if name != "" && len(values) == 0 {
		h := d.headWith(in.Name, in.Text)
		values, _, _ = d.measuresOf(h, bodyOf(h, in.Body))
	}
	if strings.TrimSpace(values[name]) != "" {
		return ""
	}
	return name
}

// slipOf is the worst fault of a measure of the form, in one line with its advice.
func (d drawing) slipOf(name string) (said, severity string) {
	i := slices.IndexFunc(d.Faults, func(f fault) bool { return f.Measure == name && f.Severity == string(pattern.Error) })
	if i < 0 {
		i = slices.IndexFunc(d.Faults, func(f fault) bool { return f.Measure == name })
	}
	if i < 0 {
		return "", ""
	}
	return strings.TrimPrefix(strings.TrimSuffix(d.Faults[i].Text+"; "+d.Faults[i].Mend, "; "), "the measure "+name+": "), d.Faults[i].Severity
}

// Made reports whether a file can be made from the form: the draft was drawn, and no measure has a fault.
func (d drawing) Made() bool {
	return d.SVG != "" && !slices.ContainsFunc(d.Faults, func(f fault) bool { return f.Measure != "" && f.Severity == string(pattern.Error) })
}

// styleElement is removed because the page's content security policy refuses it; the page's style sheet has its rules.
var styleElement = regexp.MustCompile(`(?s)<style>.*?</style>\s*`)

// draw draws a draft for a page that is loaded, and reports faults, once one of the places is free. It gives nothing
// where the context ends before.
func (d *Desk) draw(ctx context.Context, in wish) drawing { return d.drawWithin(ctx, in, patience) }

// drawWithin is draw with another limit; a longer drawing is given up and reported as slow. Waiting for a place does
// not count.
func (d *Desk) drawWithin(ctx context.Context, in wish, limit time.Duration) drawing {
	out := drawing{Faults: []fault{}, Checks: []checks.Check{}}
	_ = inPlace(ctx, func() error { // the browser is gone
		ctx, cancel := context.WithTimeout(ctx, limit)
		defer cancel()
		if w := d.work(ctx, in); ctx.Err() == nil {
			out = d.drawingOf(ctx, in, w)
		}
		out.Slow = ctx.Err() != nil
		return nil
	})
	if out.Slow {
		out.Clear = "Nothing is judged: the drawing took too long and was given up."
	}
	return out
}

// drawnBefore is the picture of a page's pieces without the typed measures, else as the page was opened; "" for none.
func (d *Desk) drawnBefore(ctx context.Context, p deskPage) string {
	opened := openedWish(p.Opened)
	opened.Before = nil
	return cmp.Or(d.draw(ctx, wish{Name: p.Name, Text: p.Text, Body: p.Body}).SVG, d.draw(ctx, opened).SVG)
}

// drawingOf is the drawing of a wish from its result.
func (d *Desk) drawingOf(ctx context.Context, in wish, w worked) drawing {
	h := d.headWith(in.Name, in.Text)
	out := drawing{Faults: []fault{}, Checks: checks.Of(h.said, w.figures, w.Pattern, w.Findings), Bodies: h.bodyNames()}
	out.Blocks = d.blocksOf(in, w)
	if f := d.otherCard(in); f != nil {
		out.Faults = append(out.Faults, *f)
	}
	out.Faults = append(out.Faults, d.fittedEverywhere(in, w.figures)...)
	out.Clear = checks.Clear(out.Checks)
	if len(in.Measures) > 0 {
		out.Faults = append(out.Faults, oddFractions(in.Measures, d.personsUnit(in))...)
	}
	numbers := picture.Numbered(w.Findings)
	for i, f := range w.Findings {
		if f.Severity == pattern.Error {
			out.Errors++
		}
		text := f.Message
		if f.Piece != "" {
			text = f.Piece + ": " + text
		}
		offered, mends := mend.Of(in.Text, f)
		measure := ""
		text, mends, measure = w.own.plainly(d.plainPaths(text), mends)
		if f.Hold && f.Rule == pattern.RuleMeasureUnlikely {
			mends += "; if it is right, nothing is to be done here"
		}
		if other := mend.OtherStarter(in.Text); other != "" && f.Rule == pattern.RuleNotForBody {
			mends += "; where they are right, the starter " + other + " is for them: it stands on the page Drafting"
		}
		said := fault{string(f.Severity), f.Line, f.Column, numbers[i], text, mends, offered, ""}
		if measure != "" {
			said.atMeasure(measure, w.own.measures[measure], f.Rule)
		} else if name := d.emptyMeasure(in, f); name != "" && (offered == nil || offered.Line == f.Line) { // else the misspelt name is where it is defined
			said.Measure, said.Text, said.Mend, said.Offer = name, "the measure "+name+" is empty, and the draft needs it", hintOfMeasure, nil
		}
		if said.Measure != "" && slices.ContainsFunc(out.Faults, func(o fault) bool { return o.Measure == said.Measure && o.Text == said.Text }) {
			continue // used at several places
		}
		out.Faults = append(out.Faults, said)
	}
	if w.Pattern == nil || len(w.Pattern.Pieces) == 0 {
		return out
	}
	shown, opt := w.drawn, picture.Options{Unit: d.o.Room().Units, Points: true, Handles: true, Coarse: coarse}
	if w.figures != nil {
		opt.Unit = w.figures.Unit
	}
	opt.Wide, opt.High = in.frameOr()
	if in.Before != nil {
		b := *in.Before
		b.Name = in.Name
		b.Text = cmp.Or(b.Text, in.Text)
		if in.Before.Text == "" { // a body or a card
			opt.Before = "card " + b.Body
			if h := d.headWith(in.Name, in.Text); h.tells(b.Body) {
				opt.Before = "body " + b.Body
			}
		}
		was := d.before(ctx, b)
		if ctx.Err() != nil {
			return out
		}
		out.Changed = moved.Between(w.figures, was.figures, opt.Before)
		out.lengths = moved.Lengths(w.figures, was.figures)
		switch {
		case was.Pattern == nil:
			out.Changed = []string{"what it is compared with is not here, or cannot be drawn"}
		case in.Beside:
			opt.Beside = was.drawn
		default:
			shown = picture.Behind(w.drawn, was.drawn, in.Upon)
			if in.Upon != "" && !picture.Lettered(w.Pattern, in.Upon) {
				out.Changed = append([]string{fmt.Sprintf("no piece has a point %q, so they lie where the draft puts them", in.Upon)}, out.Changed...)
			}
		}
	}
	out.SVG = styleElement.ReplaceAllString(string(picture.Pattern(shown, w.Findings, opt).SVG()), "")
	out.Pieces = fmt.Sprintf("%d pieces", len(w.Pattern.Pieces))
	if len(w.Pattern.Pieces) == 1 {
		out.Pieces = "1 piece"
	}
	return out
}

// coarse is how far a line on the page may deviate from the true one, in picture units: a tenth of a pixel of a screen
// a thousand wide.
const coarse = 0.1

// drawn answers the page's request for each change of its text.
func (d *Desk) drawn(w http.ResponseWriter, r *http.Request) {
	var in wish
	if err := json.NewDecoder(r.Body).Decode(&in); err != nil {
		status, text := web.BodyFault(err, 2*textLimit)
		http.Error(w, "Not drawn. The draft: "+text+".", status)
		return
	}
	if !folder.IsName(in.Name) {
		http.Error(w, "no name of a draft", http.StatusBadRequest)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	_ = json.NewEncoder(w).Encode(d.drawWithin(r.Context(), in, stroke)) // the browser may be gone
}

var cardLine = regexp.MustCompile(`(?m)^card\s*:`)

// otherCard warns that a draft is drawn for another person than on the card that it names, because that card is
// missing: saved so, the draft opens without measures. nil where it does not apply.
func (d *Desk) otherCard(in wish) *fault {
	h := headOfText(in.Text)
	named := pattern.TrimYAML(h.Card)
	if named == "" || in.Body == "" || in.Body == named || bodyOf(h, "") != named {
		return nil
	}
	if _, _, err := d.cardFile(named); !errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	f := fault{Severity: string(pattern.Warning), Column: 1, Text: fmt.Sprintf("drawn for %s; the words name the card %s, which is not here", in.Body, named),
		Mend: "write the name of a card that is here, or keep the measures as the card " + named}
	if at := cardLine.FindStringIndex(in.Text); at != nil {
		f.Line = 1 + strings.Count(in.Text[:at[0]], "\n")
	}
	return &f
}

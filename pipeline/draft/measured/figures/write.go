package figures

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"

	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/pattern"
)

// Text writes the tables for a terminal.
func (f *Figures) Text(w io.Writer) error {
	p := &printer{w: w}
	fitted := ""
	if f.Fitted != "" {
		fitted = ", fitted " + f.Fitted
	}
	p.f("%s, for %s%s; every length in %s\n", f.Style, f.Body, fitted, f.UnitWord())
	for _, c := range f.Changes {
		p.f("  %s\n", c)
	}
	for _, c := range f.LeftOut {
		p.f("  not in these figures: %s\n", c)
	}
	p.f("\nnumbers%s\n  %-32s %10s\n", f.CountedIn(), "number", "comes to")
	for _, n := range f.Numbers {
		p.f("  %-32s %10s\n", n.Name, f.SayNumber(n.Value))
	}
	p.f("\nchecks\n")
	for _, g := range f.Girths {
		p.f("  %s: finished %s, body %s, ease %s, %s\n", g.Name, f.Say(g.Finished), f.Say(g.Body), f.Say(g.Ease), g.Word())
	}
	p.f("\nseams\n")
	for _, s := range f.Seams {
		p.f("  %s: %s and %s, %s\n", s.Seam, f.Say(s.SewnA), f.Say(s.SewnB), f.Between(s))
	}
	if len(f.Truings) > 0 {
		p.f("\ntrued\n")
	}
	for _, t := range f.Truings {
		p.f("  %s\n", f.TruingWords(t))
	}
	if len(f.Notions) > 0 {
		p.f("\nnotions\n")
	}
	for _, n := range f.Notions {
		p.f("  %s: %s\n", n.Name, f.Words(n))
	}
	if len(f.Cloths) > 0 || f.Unlaid != "" {
		p.f("\ncloth\n")
	}
	for _, c := range f.Cloths {
		p.f("  %s\n", f.ClothWords(c))
	}
	if f.Unlaid != "" {
		p.f("  %s\n", f.Unlaid)
	}
	for _, pc := range f.Pieces {
		p.f("\n%s: %s; %.2f sq %s, net\n", pc.Name, pc.Words(), pc.Area, f.Unit)
		p.f("  grain %s\n", pc.Grain)
		for _, q := range pc.Places {
			p.f("  on the cloth %s, %s\n", q.Cloth, q.Words(pc.Copies()))
		}
		wide := 10 // of a column with a place
		if pc.Marking.Exactly != "" {
			wide = 18
		}
		p.f("  %-24s %*s %10s %10s   %s\n", "edge", wide, "to chalk", "worn", "cut", "allowance")
		for _, ed := range pc.Edges {
			p.f("  %-24s %*s %10s %10s   %s\n", ed.Name, wide, ed.Chalk, f.SayEdge(ed.Worn), f.SayEdge(ed.Cut), ed.Beside())
		}
		p.f("  to chalk it: across from %s,\n  down from %s\n", pc.Marking.Across, pc.Marking.Down)
		if pc.Marking.Exactly != "" {
			p.f("  %s\n", pc.Marking.Exactly)
		}
		if len(pc.Marking.Lines) > 0 {
			p.f("  first these places, each line in one step\n  %-36s   %s\n", "where the tape lies", "places, and how far along it")
		}
		for _, l := range pc.Marking.Lines {
			p.f("  %-36s   %s\n", l.Along, l.Words())
		}
		p.f("  joined in this order, straight where no way is told\n  %-14s %*s %*s   %s\n", "point", wide, "across", wide, "down", "edge that begins, and the way to the next place")
		for _, m := range pc.Marking.Outline {
			p.f("  %-14s %*s %*s%s\n", m.Point, wide, m.Across, wide, m.Down, m.leaves())
		}
		if len(pc.Marking.Inside) > 0 {
			p.f("  and on it\n  %-14s %*s %*s   %s\n", "", wide, "across", wide, "down", "mark")
		}
		for _, m := range pc.Marking.Inside {
			p.f("  %-14s %*s %*s   %s\n", "", wide, m.Across, wide, m.Down, m.Edge)
		}
	}
	return p.err
}

// Word is how the check came out.
func (g Girth) Word() string {
	if g.Kept {
		return "kept"
	}
	return "differs"
}

// NotKept counts the seams that differ and the checks that are not kept; "" where all is as stated.
func (f *Figures) NotKept() string {
	seams, girths := 0, 0
	for _, s := range f.Seams {
		if s.Off != 0 {
			seams++
		}
	}
	for _, g := range f.Girths {
		if !g.Kept {
			girths++
		}
	}
	var words []string
	if seams == 1 {
		words = append(words, "1 seam differs")
	} else if seams > 1 {
		words = append(words, pattern.Count(seams, "seam")+" differ")
	}
	if girths == 1 {
		words = append(words, "1 check is not kept")
	} else if girths > 1 {
		words = append(words, pattern.Count(girths, "check")+" are not kept")
	}
	if f.unmet > 0 {
		words = append(words, "the right side and the left one do not go together")
	}
	return strings.Join(words, ", ")
}

// Say writes a length in the figures' unit: fractions of an inch as a tape has them, or a decimal.
func (f *Figures) Say(v float64) string {
	if f.Unit == "in" {
		return fraction(v)
	}
	return sentence.FormatNumber(v)
}

// SayEdge writes how long an edge is, no finer than a person reads off a tape: in a tenth of a millimetre.
func (f *Figures) SayEdge(v float64) string {
	parts := map[string]float64{"cm": 100, "mm": 10}[f.Unit]
	if parts == 0 {
		return f.Say(v)
	}
	return f.Say(math.Round(v*parts) / parts)
}

// Between says how the sides of a seam come to one length: gathers as a ratio, the side that is longer as stated, or by
// how much they differ from what is stated.
func (f *Figures) Between(s SeamFigures) string {
	if s.Gathers > 0 {
		out := fmt.Sprintf("gathered %.2f to 1", s.Gathers)
		if s.Underlap > 0 {
			out += ", an underlap of " + f.Say(s.Underlap) + " left free"
		}
		return out
	}
	switch by := s.B - s.A; {
	case s.Within > 0 && s.Ease == 0:
		return f.longer(s, by) + ", kept within " + f.Say(s.Within)
	case s.Within > 0 && math.Abs(by) < tiny:
		return "of one length, and " + s.Second + " is to be " + f.way(s.Ease) + ", kept within " + f.Say(s.Within)
	case s.Within > 0:
		return f.longer(s, by) + ", and " + s.Second + " is to be " + f.way(s.Ease) + ", kept within " + f.Say(s.Within)
	case s.Off == 0 && s.Ease == 0:
		return "of one length, as stated"
	case s.Off == 0:
		return f.longer(s, s.Ease) + ", as stated"
	case s.Ease == 0:
		return "differs: " + f.longer(s, by) + ", and is to be of one length"
	case math.Abs(by) < tiny:
		return "differs: of one length, and " + s.Second + " is to be " + f.way(s.Ease)
	default:
		return "differs: " + f.longer(s, by) + ", and " + s.Second + " is to be " + f.way(s.Ease)
	}
}

// longer names the side of a seam that is longer and the other, where the second is so much longer.
func (f *Figures) longer(s SeamFigures, by float64) string {
	if by < 0 {
		return s.First + " is " + f.way(-by) + " than " + s.Second
	}
	return s.Second + " is " + f.way(by) + " than " + s.First
}

// way says "1 longer" or "1 shorter".
func (f *Figures) way(by float64) string {
	if by < 0 {
		return f.Say(-by) + " shorter"
	}
	return f.Say(by) + " longer"
}

// SayNumber writes a derived number, which need not be a length: a fraction only where it is one.
func (f *Figures) SayNumber(v float64) string {
	if f.Drafted == "in" {
		return pattern.Inches(v * 25.4)
	}
	return sentence.FormatNumber(v)
}

// CountedIn stands behind the heading of the numbers: their unit where it is another than that of the lengths, or "".
func (f *Figures) CountedIn() string {
	if f.Drafted == f.Unit {
		return ""
	}
	return ", in " + sentence.SpokenUnit(f.Drafted) + " as the draft counts"
}

// UnitWord is the unit as it is spoken.
func (f *Figures) UnitWord() string { return sentence.SpokenUnit(f.Unit) }

// Words says how often and of what a piece is cut.
func (p PieceFigures) Words() string {
	out := fmt.Sprintf("cut %d", p.Quantity)
	switch {
	case p.Twice:
		out += " on two folds"
	case p.OnFold:
		out += " on the fold"
	case p.Pair && p.Quantity == 2:
		out += ", a pair"
	case p.Pair:
		out += " in pairs"
	case p.Alike:
		out += ", alike"
	}
	if p.Half != "" {
		out = "a half of " + p.Half + ", which is " + out + " whole, not on the fold"
	}
	if p.Material != "" {
		out += " of " + p.Material
	}
	if p.Mirrored {
		out += "; chalk it as the mirror image of its picture, across to the other side"
	}
	return out
}

// Beside says what is added to an edge.
func (ed EdgeFigures) Beside() string {
	if ed.Fold {
		return "on the fold"
	}
	return ed.Allowance
}

func (m MarkOut) leaves() string {
	out := ""
	if m.First {
		out = m.Edge
	}
	if way := m.Way(); way != "" && out != "" {
		out += ": " + way
	} else if way != "" {
		out = way
	}
	if out == "" {
		return ""
	}
	return "   " + out
}

// TruingWords says a truing in a line.
func (f *Figures) TruingWords(t Truing) string {
	out := fmt.Sprintf("%s: each edge turned %.2f degrees", t.At, t.Turned)
	if t.Carried[0]+t.Carried[1] > 5e-4 {
		out += fmt.Sprintf(", legs carried on %s and %s", f.Say(t.Carried[0]), f.Say(t.Carried[1]))
	}
	return out
}

// Words says how much of it is wanted, in the figures' unit.
func (f *Figures) Words(n Notion) string {
	switch {
	case n.Each == 0:
		return strconv.Itoa(n.Count)
	case n.Count == 1:
		return n.Length + " " + f.Unit
	}
	return fmt.Sprintf("%d of %s, %s %s in all", n.Count, f.Say(n.Each), n.Length, f.Unit)
}

type printer struct {
	w   io.Writer
	err error
}

func (p *printer) f(format string, args ...any) {
	if p.err == nil {
		_, p.err = fmt.Fprintf(p.w, format, args...)
	}
}

// JSON writes the figures as one object.
func (f *Figures) JSON(w io.Writer) error {
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	return enc.Encode(f)
}

// over is a promise that something goes over a part of the body.
var over = regexp.MustCompile(`^(.*?) goes over (?:the )?(.*)$`)

// MustWords is a promise of a draft as a check has it.
func MustWords(said string) string {
	if m := over.FindStringSubmatch(said); m != nil {
		return "goes over the " + m[2]
	}
	return said
}

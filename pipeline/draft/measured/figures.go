package measured

import (
	"cmp"
	"encoding/json"
	"fmt"
	"html/template"
	"io"
	"math"
	"strconv"

	"github.com/paulmach/orb"
)

// Figures is what a person checks with a tape and chalks from: all lengths in the draft's unit.
type Figures struct {
	Style   string         `json:"style"`
	Body    string         `json:"body"`
	Unit    string         `json:"unit"`
	Numbers []NamedNumber  `json:"numbers"`
	Pieces  []PieceFigures `json:"pieces"`
	Girths  []Girth        `json:"girths"`
	Seams   []SeamFigures  `json:"seams"`
	Notions []Notion       `json:"notions"`
	Truings []Truing       `json:"truings"`
}

// NamedNumber is a derived number.
type NamedNumber struct {
	Name  string  `json:"name"`
	Value float64 `json:"value"`
}

// PieceFigures are a piece's edges and its marking-out list.
type PieceFigures struct {
	Name  string        `json:"name"`
	Area  float64       `json:"area"` // as cut, net, in the unit squared
	Edges []EdgeFigures `json:"edges"`
	Marks []MarkOut     `json:"marking_out"`
	// Inside are the notches, folds, lines and drill marks, from the same two edges.
	Inside []MarkOut `json:"marking_inside"`
}

// EdgeFigures is an edge's length as worn and as cut.
type EdgeFigures struct {
	Name string  `json:"name"`
	Worn float64 `json:"worn"`
	Cut  float64 `json:"cut"`
}

// MarkOut is one place of the outline, or of what is marked on the piece: across from the fold or the piece's inner edge, down from its
// highest place, as written for the tape.
type MarkOut struct {
	Edge   string `json:"edge"`
	Across string `json:"across"`
	Down   string `json:"down"`
	// X and Y are the same unrounded.
	X float64 `json:"x"`
	Y float64 `json:"y"`
}

// Girth is a promise and what came of it.
type Girth struct {
	Name     string  `json:"name"`
	Finished float64 `json:"finished"`
	Body     float64 `json:"body"`
	Ease     float64 `json:"ease"`
	Promise  string  `json:"promise"`
	Kept     bool    `json:"kept"`
}

// SeamFigures is a seam as walked.
type SeamFigures struct {
	Seam string  `json:"seam"`
	A    float64 `json:"a"`
	B    float64 `json:"b"`
	Ease float64 `json:"ease"`
}

// Truing is by how much edges were bent so that they run on across a seam or a closed dart: how far the
// legs of the two sides were carried on to be equal, and by how many degrees each edge was turned.
type Truing struct {
	At      string     `json:"at"`
	Carried [2]float64 `json:"carried"` // a princess seam's centre panel first
	Turned  float64    `json:"turned_deg"`
}

// Notion is what is bought beside the cloth: so many, each of a length; 0 where no length is told.
type Notion struct {
	Name   string  `json:"name"`
	Count  int     `json:"count"`
	Each   float64 `json:"each"`
	Length string  `json:"length"` // in all, as the tape is read
}

// FiguresOf draws a draft and lists its figures. The error is an *Error as of Read.
func FiguresOf(data []byte, name string, opt Options) (*Figures, error) {
	e, err := draw(data, name, opt)
	if err != nil {
		return nil, err
	}
	f := &Figures{Body: e.body, Unit: e.unit}
	if en, ok := e.secs["style"]; ok {
		f.Style = e.text(en)
	}
	for _, n := range e.top.order {
		if d := e.top.defs[n]; d.kind == isNumber {
			f.Numbers = append(f.Numbers, NamedNumber{n, d.n})
		}
	}
	for _, pc := range e.pieces {
		f.Pieces = append(f.Pieces, pc.figures())
	}
	for _, g := range e.girths {
		f.Girths = append(f.Girths, Girth{g.name, g.finished, g.body, g.finished - g.body, g.promise, g.kept})
	}
	for _, p := range e.pairs {
		f.Seams = append(f.Seams, SeamFigures{p.words, p.a, p.b, p.ease})
	}
	for _, t := range e.truings {
		f.Truings = append(f.Truings, Truing{t.at, t.carried, t.turned})
	}
	for _, n := range e.notions {
		f.Notions = append(f.Notions, Notion{n.name, n.count, n.each, e.tape(float64(n.count) * n.each)})
	}
	return f, nil
}

// figures lists a piece. On a curve a place is given about every twelfth of it, at least every joint.
func (pc *piece) figures() PieceFigures {
	out := PieceFigures{Name: pc.name, Area: area(pc.edges)}
	lo := orb.Point{math.Inf(1), math.Inf(1)}
	type at struct {
		edge string
		q    orb.Point
	}
	var list []at
	for i, ed := range pc.edges {
		out.Edges = append(out.Edges, EdgeFigures{ed.name, pc.worn[i].c.length(), ed.c.length()})
		for _, s := range ed.c {
			n := 1
			if s.cubic || s.isArc() {
				n = 12
			}
			for k := range n {
				list = append(list, at{ed.name, s.at(float64(k) / float64(n))})
			}
		}
	}
	for _, a := range list {
		lo[0], lo[1] = math.Min(lo[0], a.q[0]), math.Min(lo[1], a.q[1])
	}
	for _, a := range list {
		out.Marks = append(out.Marks, pc.markOut(a.edge, a.q, lo))
	}
	for _, n := range pc.notches {
		out.Inside = append(out.Inside, pc.markOut("notch on "+pc.edges[n.edge].name, n.at, lo))
	}
	for _, m := range pc.marks {
		name := cmp.Or(m.name, "line")
		out.Inside = append(out.Inside, pc.markOut(name+", from", m.a, lo), pc.markOut(name+", to", m.b, lo))
	}
	for _, d := range pc.drills {
		out.Inside = append(out.Inside, pc.markOut("drill mark", d, lo))
	}
	return out
}

func (pc *piece) markOut(what string, q, lo orb.Point) MarkOut {
	x, y := q[0]-lo[0], q[1]-lo[1]
	return MarkOut{what, pc.sc.eng.tape(x), pc.sc.eng.tape(y), x, y}
}

// tape writes a length as a tape is read: inches in sixteenths, cm to the half millimetre, mm to the
// half.
func (e *engine) tape(v float64) string {
	switch e.unit {
	case "in":
		n := int(math.Round(v * 16))
		whole, part, den := n/16, n%16, 16
		for part > 0 && part%2 == 0 {
			part, den = part/2, den/2
		}
		switch {
		case part == 0:
			return strconv.Itoa(whole)
		case whole == 0:
			return fmt.Sprintf("%d/%d", part, den)
		}
		return fmt.Sprintf("%d %d/%d", whole, part, den)
	case "cm":
		return strconv.FormatFloat(math.Round(v*20)/20, 'f', -1, 64)
	}
	return strconv.FormatFloat(math.Round(v*2)/2, 'f', -1, 64)
}

// Text writes the tables for a terminal.
func (f *Figures) Text(w io.Writer) error {
	p := &printer{w: w}
	p.f("%s, %s, in %s\n\nnumbers\n", f.Style, f.Body, f.Unit)
	for _, n := range f.Numbers {
		p.f("  %-32s %10.3f\n", n.Name, n.Value)
	}
	p.f("\npromises\n")
	for _, g := range f.Girths {
		kept := "kept"
		if !g.Kept {
			kept = "NOT KEPT"
		}
		p.f("  %s: finished %.3f, body %.3f, %+.3f, %s\n", g.Name, g.Finished, g.Body, g.Ease, kept)
	}
	p.f("\nseams\n")
	for _, s := range f.Seams {
		p.f("  %s: %.3f and %.3f, ease stated %.3f\n", s.Seam, s.A, s.B, s.Ease)
	}
	if len(f.Truings) > 0 {
		p.f("\ntrued\n")
	}
	for _, t := range f.Truings {
		p.f("  %s\n", t.Words())
	}
	if len(f.Notions) > 0 {
		p.f("\nnotions\n")
	}
	for _, n := range f.Notions {
		p.f("  %s: %s\n", n.Name, n.words(f.Unit))
	}
	for _, pc := range f.Pieces {
		p.f("\n%s, %.2f square %s net\n", pc.Name, pc.Area, f.Unit)
		for _, ed := range pc.Edges {
			p.f("  %-24s %10.3f worn %10.3f cut\n", ed.Name, ed.Worn, ed.Cut)
		}
		p.f("  marking out: across from the fold or inner edge, down from the top\n")
		for _, m := range pc.Marks {
			p.f("    %-24s %10s %10s\n", m.Edge, m.Across, m.Down)
		}
		if len(pc.Inside) > 0 {
			p.f("  and on it:\n")
		}
		for _, m := range pc.Inside {
			p.f("    %-24s %10s %10s\n", m.Edge, m.Across, m.Down)
		}
	}
	return p.err
}

func (n Notion) words(unit string) string {
	switch {
	case n.Each == 0:
		return strconv.Itoa(n.Count)
	case n.Count == 1:
		return fmt.Sprintf("%s %s", n.Length, unit)
	}
	return fmt.Sprintf("%d of %s, %s %s in all", n.Count, num(n.Each), n.Length, unit)
}

// Words says a truing in a line.
func (t Truing) Words() string {
	out := fmt.Sprintf("%s: each edge turned %.2f degrees", t.At, t.Turned)
	if t.Carried[0]+t.Carried[1] > 5e-4 {
		out += fmt.Sprintf(", legs carried on %.3f and %.3f", t.Carried[0], t.Carried[1])
	}
	return out
}

// Words says how much of it is wanted, in the figures' unit.
func (f *Figures) Words(n Notion) string { return n.words(f.Unit) }

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

var page = template.Must(template.New("figures").Parse(`<!doctype html><meta charset="utf-8"><title>{{.Style}}</title>
<style>body{font:11pt serif;margin:2em}table{border-collapse:collapse;margin:0 0 1em}td,th{border:1px solid #999;padding:2px 8px;text-align:left}section{break-inside:avoid}</style>
<h1>{{.Style}}</h1><p>{{.Body}}, in {{.Unit}}</p>
<h2>Numbers</h2><table>{{range .Numbers}}<tr><td>{{.Name}}<td>{{printf "%.3f" .Value}}{{end}}</table>
<h2>Promises</h2><table>{{range .Girths}}<tr><td>{{.Name}}<td>{{printf "%.3f" .Finished}}<td>{{printf "%.3f" .Body}}<td>{{printf "%+.3f" .Ease}}<td>{{if .Kept}}kept{{else}}not kept{{end}}{{end}}</table>
<h2>Seams</h2><table>{{range .Seams}}<tr><td>{{.Seam}}<td>{{printf "%.3f" .A}}<td>{{printf "%.3f" .B}}<td>{{printf "%.3f" .Ease}}{{end}}</table>
{{if .Truings}}<h2>Trued</h2><table>{{range .Truings}}<tr><td>{{.Words}}{{end}}</table>
{{end}}{{if .Notions}}<h2>Notions</h2><table>{{range .Notions}}<tr><td>{{.Name}}<td>{{$.Words .}}{{end}}</table>
{{end}}{{range .Pieces}}<section><h2>{{.Name}}</h2><table><tr><th>edge<th>worn<th>cut{{range .Edges}}<tr><td>{{.Name}}<td>{{printf "%.3f" .Worn}}<td>{{printf "%.3f" .Cut}}{{end}}</table>
<table><tr><th>edge<th>across<th>down{{range .Marks}}<tr><td>{{.Edge}}<td>{{.Across}}<td>{{.Down}}{{end}}{{range .Inside}}<tr><td>{{.Edge}}<td>{{.Across}}<td>{{.Down}}{{end}}</table></section>{{end}}
`))

// HTML writes a page that prints.
func (f *Figures) HTML(w io.Writer) error { return page.Execute(w, f) }

package figures

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"math"
	"strings"

	"tracewheel/pipeline/look"
)

//go:embed figures.html
var pageText string

var page = template.Must(template.New("figures").Funcs(template.FuncMap{"style": look.Style}).Parse(pageText))

// HTML writes a page that prints.
func (f *Figures) HTML(w io.Writer) error { return page.Execute(w, f) }

// Drawing is a small picture of the piece with its lettered places, as SVG.
func (p PieceFigures) Drawing() template.HTML {
	var w, h float64
	for _, q := range p.Marking.line {
		w, h = math.Max(w, q[0]), math.Max(h, q[1])
	}
	k := math.Min(240/math.Max(w, h), 190/math.Max(w, tiny))
	var b strings.Builder
	fmt.Fprintf(&b, `<svg width="%.0f" height="%.0f" viewBox="-2 -14 %[1]v %[2]v" role="img" aria-label="the piece">`, math.Ceil(k*w+30), math.Ceil(k*h+20))
	b.WriteString(`<path class="outline" d="M`)
	for _, q := range p.Marking.line {
		fmt.Fprintf(&b, "%.1f %.1f ", k*q[0], k*q[1])
	}
	b.WriteString(`Z"/>`)
	for _, m := range p.Marking.Outline {
		fmt.Fprintf(&b, `<circle cx="%.1f" cy="%.1f" r="1.3"/>`, k*m.X, k*m.Y)
		if m.Point != "" {
			fmt.Fprintf(&b, `<text x="%.1f" y="%.1f">%s</text>`, k*m.X+3, k*m.Y-3, template.HTMLEscapeString(m.Point))
		}
	}
	b.WriteString("</svg>")
	return template.HTML(b.String())
}

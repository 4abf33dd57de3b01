package figures

import (
	_ "embed"
	"html/template"
	"io"

	"tracewheel/pipeline/look"
)

//go:embed figures.html
var pageText string

var page = template.Must(template.New("figures").Funcs(template.FuncMap{"style": look.Style}).Parse(pageText))

// HTML writes a page that prints.
func (f *Figures) HTML(w io.Writer) error { return page.Execute(w, f) }

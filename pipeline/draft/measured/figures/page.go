package figures

import (
	_ "embed"
	"html/template"
	"io"
	"strings"

	"tracewheel/pipeline/look"
	"tracewheel/pipeline/pattern"
)

//go:embed figures.html
var pageText string

var page = template.Must(template.New("figures").Funcs(template.FuncMap{"style": look.Style}).Parse(pageText))

// HTML writes a page that prints.
func (f *Figures) HTML(w io.Writer) error {
	var b strings.Builder
	if err := page.Execute(&b, f); err != nil {
		return err
	}
	_, err := io.WriteString(w, pattern.Readable(b.String()))
	return err
}

package look

import (
	_ "embed"
	"fmt"
	"html/template"
	"image/color"
	"strings"
)

//go:embed style.css
var sheet string

// Style is the style sheet of every page: the inks as variables, light or dark as the system prefers, then headings,
// tables and figures. Paper is always light.
func Style() template.CSS {
	var b strings.Builder
	vars := func(of func(Ink) color.RGBA) {
		for _, k := range inks {
			fmt.Fprintf(&b, " --%s: %s;", k.Name, Hex(of(k)))
		}
	}
	b.WriteString(":root { color-scheme: light dark;")
	vars(func(k Ink) color.RGBA { return k.Light })
	b.WriteString(" }\n@media screen and (prefers-color-scheme: dark) { :root {")
	vars(func(k Ink) color.RGBA { return k.Dark })
	b.WriteString(" } }\n")
	b.WriteString(sheet)
	return template.CSS(b.String()) //nolint:gosec // constants only
}

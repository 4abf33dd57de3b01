package report

import (
	"bytes"
	"html/template"

	"tracewheel/pipeline/look"
	"tracewheel/pipeline/pattern"
)

var cardPage = template.Must(template.New("cards").Funcs(template.FuncMap{"style": look.Style}).Parse(`<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1"><title>cards</title>
<style>{{style}}
@page { margin: 12mm }
main { display: flex; flex-wrap: wrap; gap: 5mm; font-size: 13px }
section { width: 80mm; min-height: 42mm; border: 1px dashed var(--thread); padding: 4mm; break-inside: avoid }
h1 { font-size: 1.1rem; margin: 0 0 1mm }
p { margin: 0 }
</style></head><body><main>
{{range .}}<section>{{range $i, $line := .Card}}{{if $i}}<p>{{$line}}</p>{{else}}<h1>{{$line}}</h1>{{end}}
{{end}}</section>
{{end}}</main></body></html>
`))

// Cards are the slips to be laid on pieces that a knife leaves without letters, nil where there are none.
func Cards(ready []pattern.Ready) []byte {
	var with []pattern.Ready
	for _, r := range ready {
		if len(r.Card) > 0 {
			with = append(with, r)
		}
	}
	if len(with) == 0 {
		return nil
	}
	var b bytes.Buffer
	if err := cardPage.Execute(&b, with); err != nil {
		return nil // a template over plain strings, tested, writing to memory
	}
	return []byte(pattern.Readable(b.String()))
}

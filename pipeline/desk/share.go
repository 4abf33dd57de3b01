package desk

import (
	"fmt"
	"net/http"
	"path/filepath"

	"tracewheel/pipeline/desk/sharing"
	"tracewheel/pipeline/draft"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/web"
)

// share gives a draft as one file for others, with everything that it takes from other drafts and without its wearer.
func (d *Desk) share(w http.ResponseWriter, r *http.Request) {
	text, file, err := d.read(r.PathValue("name"))
	var from [][]byte
	if err == nil {
		text, from, err = d.whole(text, file)
	}
	if err == nil {
		if r.URL.Query().Get("bodies") == "no" {
			text, err = sharing.Bare(text, from...)
		} else {
			text, err = sharing.Plain(text, from...)
		}
	}
	if err != nil {
		d.problem(w, r, err)
		return
	}
	web.Download(w, filepath.Base(file), text)
}

// whole is a draft with what it takes from others written into it, and the texts of those; the draft unchanged where
// it takes from none.
func (d *Desk) whole(text []byte, file string) (out []byte, from [][]byte, err error) {
	if headOfText(string(text)).From.Kind == 0 {
		return text, nil, nil
	}
	fetch := d.maker().Figuring(making.Request{Name: file, Source: text}).Block
	out, err = draft.Whole(text, filepath.Base(file), draft.Options{Block: func(name string) ([]byte, error) {
		block, err := fetch(name)
		from = append(from, block)
		return block, err
	}})
	if err != nil {
		return nil, nil, fmt.Errorf("the draft is not shared, since what it takes from other drafts would be missing: %w", draft.InLines(err))
	}
	return out, from, nil
}

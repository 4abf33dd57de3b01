package desk

import (
	"path/filepath"

	"tracewheel/pipeline/desk/cardtext"
)

// cardFile is the file and text of the card of a name: from the folder of drafts, or from the folder of cards. The
// error wraps fs.ErrNotExist where there is none.
func (d *Desk) cardFile(name string) (file string, text []byte, err error) {
	return d.maker().CardFor(filepath.Join(d.o.Drafts, "draft.yaml"), name)
}

// card are a card's measures, without the notes where they were taken, and its kind.
func (d *Desk) card(name string) (measures map[string]string, kind string) {
	_, text, err := d.cardFile(name)
	if err != nil {
		return nil, ""
	}
	return cardtext.Plain(text)
}

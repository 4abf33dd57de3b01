package desk

import (
	"path/filepath"

	"tracewheel/pipeline/desk/cardtext"
)

// cardFile is the file of the card that the drafts of the folder find by a name, and what it holds: beside them, or in
// the folder of cards. The error wraps fs.ErrNotExist where there is none.
func (d *Desk) cardFile(name string) (file string, text []byte, err error) {
	return d.maker().CardFor(filepath.Join(d.o.Drafts, "draft.yaml"), name)
}

// card are the measures of a card, without where they were taken, and whose they are.
func (d *Desk) card(name string) (measures map[string]string, kind string) {
	_, text, err := d.cardFile(name)
	if err != nil {
		return nil, ""
	}
	return cardtext.Plain(text)
}

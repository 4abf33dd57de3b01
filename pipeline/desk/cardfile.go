package desk

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"time"

	"tracewheel/pipeline/desk/cardtext"
	"tracewheel/pipeline/desk/folder"
	"tracewheel/pipeline/desk/taken"
	"tracewheel/pipeline/store"
)

// cardNames are the cards that can be drawn: those of the folder of cards, and the one that a draft names, wherever it
// is found.
func (d *Desk) cardNames(h head, body string) []string {
	names := folder.Cards(d.o.Cards)
	if body == "" || h.tells(body) || slices.Contains(names, body) {
		return names
	}
	if _, _, err := d.cardFile(body); err == nil {
		names = append(names, body)
	}
	return names
}

// cardSeen identifies a card and its text when a page read it.
func cardSeen(name string, text []byte) string { return folder.VersionOf(text) + " " + name }

// shownCard is the card on a page, as far as it can be read.
type shownCard struct {
	name    string
	seen    string
	text    []byte
	history []taken.Then
	says    string            // its name, its folder, and when it was taken
	lacks   string            // the message where it cannot be read
	last    map[string]string // the measures of its newest old version then, nil where there is none
	unit    string            // the unit of last
	kind    string            // the kind of last
}

// cardOn is the card that a page shows for a body; empty for a body that is written in the draft.
func (d *Desk) cardOn(h head, body string) (c shownCard) {
	if body == "" || h.tells(body) {
		return c
	}
	file, text, err := d.cardFile(body)
	switch {
	case err == nil:
		c = shownCard{name: body, seen: cardSeen(body, text), text: text, history: taken.History(file), says: "Measures of the card " + body}
		if day, err := time.Parse(time.DateOnly, cardtext.Taken(text)); err == nil {
			c.says += ", taken on " + taken.Day(day, time.Now())
		}
		c.says += ". It is the file " + d.plainPaths(file) + "."
		return c
	case !errors.Is(err, fs.ErrNotExist):
		c.lacks = fmt.Sprintf("The card %q cannot be read: %s.", body, d.plainPaths(err.Error()))
		return c
	}
	c.lacks = fmt.Sprintf("There is no card %q: it lies neither beside the draft nor among the cards. The words of the draft are as they were. ", body)
	if file, err = folder.File(d.o.Cards, body); err != nil {
		c.lacks += "Choose another body, or put the card back."
		return c
	}
	old, _ := store.Versions(file) // none on an error
	for _, v := range slices.Backward(old) {
		text, err := folder.Read(v.File)
		if err != nil {
			continue
		}
		c.unit = cardtext.Unit(text)
		if c.last, c.kind = cardtext.Plain(text); len(c.last) > 0 {
			c.lacks += "Below are its measures as they were until " + taken.Day(v.At.Local(), time.Now()) + ": keep them as the card to have it again."
			return c
		}
	}
	c.lacks += "Write the measures and keep them as that card, or choose another body."
	return c
}

// cardDiffers lists the differences between a card and the form's measures.
func cardDiffers(text []byte, typed map[string]string) (out []string) {
	there, _ := cardtext.Plain(text)
	for name, v := range typed {
		if v = cardtext.Number(v); there[name] != v && v != "" {
			was := cmp.Or(there[name], "not there")
			out = append(out, fmt.Sprintf("%s %s on the card, %s here", name, was, v))
		}
	}
	slices.Sort(out)
	return out
}

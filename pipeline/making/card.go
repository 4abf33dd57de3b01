package making

import (
	"bytes"
	"context"
	"io"
	"path/filepath"
	"regexp"
	"strings"

	"tracewheel/pipeline/cloths"
	"tracewheel/pipeline/draft"
	"tracewheel/pipeline/draft/measured/figures"
	"tracewheel/pipeline/lay"
	"tracewheel/pipeline/namedfiles"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/pdf"
)

// cardOf gives a function that fetches a measure card of a job by its bare name and keeps it in into: the one that is kept
// with the job, else one of the workroom; for a file that is no job's, the one that lies beside it.
func (m *Maker) cardOf(r Request, into *Read) func(name string) ([]byte, error) {
	dirs := []string{m.Room.Path("cards")}
	if r.Job == 0 {
		dirs = m.cardDirs(r.Name)
	}
	find := card(dirs...)
	return keeping(r.Cards, &into.Cards, func(name string) ([]byte, error) {
		_, data, err := find(name)
		return data, err
	})
}

// CardFor gives the file of the measure card that a draft which is no job's finds by a bare name, and its content; draft
// is the draft's own file. The error wraps fs.ErrNotExist where there is none.
func (m *Maker) CardFor(draft, name string) (file string, text []byte, err error) {
	return card(m.cardDirs(draft)...)(name)
}

// cardDirs are the folders that hold the cards of a draft which is no job's.
func (m *Maker) cardDirs(draft string) []string {
	beside := filepath.Dir(draft) // so that it does not depend on the current folder
	return []string{beside, filepath.Join(beside, "cards"), filepath.Join(beside, "..", "cards"), m.Room.Path("cards")}
}

// blockOf gives a function that fetches a draft from which a draft takes, as cardOf does a card: for a job from the
// workroom's folder drafts alone, since a file dropped beside it may be anybody's; otherwise from the draft's own folder
// first.
func (m *Maker) blockOf(r Request, into *Read) func(name string) ([]byte, error) {
	if r.Job != 0 {
		return keeping(r.Blocks, &into.Blocks, m.block())
	}
	return keeping(r.Blocks, &into.Blocks, m.block(filepath.Dir(r.Name)))
}

func (m *Maker) block(dirs ...string) func(name string) ([]byte, error) {
	return namedfiles.In("draft", "drafts", append(dirs, m.Room.Path("drafts"))...)
}

// keeping gives a function that fetches what was kept before, otherwise finds it, and keeps it in into.
func keeping(had map[string][]byte, into *map[string][]byte, find func(name string) ([]byte, error)) func(name string) ([]byte, error) {
	return func(name string) ([]byte, error) {
		data, kept := had[name]
		if !kept {
			var err error
			if data, err = find(name); err != nil {
				return nil, err
			}
		}
		if *into == nil {
			*into = map[string][]byte{}
		}
		(*into)[name] = data
		return data, nil
	}
}

// card gives a function that finds a measure card by its bare name in the first folder that has it. A draft of that name
// is passed over: drafts are often named after their wearer.
func card(dirs ...string) func(name string) (file string, text []byte, err error) {
	return namedfiles.Find("measure card", "cards", isDraft, dirs...)
}

var (
	draftKeys = regexp.MustCompile(`(?m)^["']?(?:pieces|draft [^:\n]+)["']?\s*:`)
	styleKey  = regexp.MustCompile(`(?m)^["']?style["']?\s*:`)
	cardKey   = regexp.MustCompile(`(?m)^["']?measures["']?\s*:`)
)

// IsCard tells a measure card from a measured draft by its keys.
func IsCard(text []byte) bool { return cardKey.Match(text) && !draftKeys.Match(text) }

// isDraft tells a measured draft from a measure card by its keys; a file without keys of either is left to its reader,
// which says what is wrong.
func isDraft(text []byte) bool {
	return draftKeys.Match(text) || styleKey.Match(text) && !IsCard(text)
}

// Figuring gives how a draft is read for its figures, and where its cards and blocks are found. The answer "body" names a
// body or a measure card; without it the draft's own body counts.
func (m *Maker) Figuring(r Request) draft.Options {
	return draft.Options{Body: r.Answers["body"], Card: m.cardOf(r, &Read{}), Block: m.blockOf(r, &Read{}), SeamTolerance: m.Room.Sewing.SeamTolerance, Done: m.Done}
}

// Figures writes a measured draft's derived numbers, lengths, girths, seam pairs and marking-out list:
// as "text", "json", "html" or "pdf".
func (m *Maker) Figures(ctx context.Context, w io.Writer, r Request, wish cloths.Wish, form string) (*figures.Figures, error) {
	if form == "pdf" {
		var text bytes.Buffer
		f, err := m.Figures(ctx, &text, r, wish, "text")
		if err != nil {
			return nil, err
		}
		title, _, _ := strings.Cut(text.String(), ";")
		pages, err := pdf.Pages(title+": figures", text.Bytes(), nil)
		if err == nil {
			_, err = w.Write(pages)
		}
		return f, err
	}
	f, err := m.Chalking(ctx, r, wish)
	if err != nil {
		return nil, draft.InLines(err)
	}
	return f, draft.WriteFigures(w, f, form)
}

// Chalking gives a measured draft's figures, each piece with its place in the lay by which the printed sheets say what to
// buy. Where there is no lay, the figures say why. Errors are those of draft.FiguresOf.
func (m *Maker) Chalking(ctx context.Context, r Request, wish cloths.Wish) (*figures.Figures, error) {
	f, err := draft.FiguresOf(r.Source, r.Name, m.Figuring(r))
	if err != nil {
		return nil, err
	}
	wish.Unsaid, wish.Alone = cloths.UsualWidth, true
	r.Alone = true
	l, err := m.layOf(ctx, r, wish)
	if err != nil {
		f.Unlaid = "Where the pieces lie on the cloth is not told: " + why(err, l.Findings)
		return f, nil
	}
	for _, c := range l.Cloths {
		f.Lay(figures.Cloth{Name: c.Name, Usual: c.Usual, Buy: lay.Bought(c.ToBuy(), l.Unit), First: m.Kept == nil}, &c.Lay, c.Drawn)
	}
	return f, nil
}

// why gives the first error among the findings, otherwise the error's text.
func why(err error, found []pattern.Finding) string {
	for _, f := range found {
		if f.Severity == pattern.Error {
			return f.Message
		}
	}
	return err.Error()
}

// Whole gives a measured draft with all that it takes from blocks, as one file.
func (m *Maker) Whole(data []byte, name string) ([]byte, error) {
	out, err := draft.Whole(data, name, draft.Options{Block: m.block(filepath.Dir(name))})
	if err != nil {
		return nil, draft.InLines(err)
	}
	return out, nil
}

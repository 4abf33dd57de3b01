package making

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"tracewheel/pipeline/draft"
	"tracewheel/pipeline/store"
)

// maxCard bounds a measure card: it holds some dozens of numbers.
const maxCard = 1 << 20

// maxCardName bounds its name, so that a file of the store may bear it.
const maxCardName = 200

// cardOf fetches a measure card of a job by its bare name, and keeps it with what was read: the one that is
// kept with the job, else one of the workroom; beside a draft that is no job's, the one that lies there.
func (m *Maker) cardOf(r Request, into *Read) func(name string) ([]byte, error) {
	dirs := []string{m.Room.Path("cards")}
	if r.Job == 0 {
		beside := filepath.Dir(r.Name) // from whatever folder it is asked
		dirs = []string{beside, filepath.Join(beside, "cards"), filepath.Join(beside, "..", "cards"), dirs[0]}
	}
	find := card(dirs...)
	return func(name string) ([]byte, error) {
		data, kept := r.Cards[name]
		if !kept {
			var err error
			if data, err = find(name); err != nil {
				return nil, err
			}
		}
		if into.Cards == nil {
			into.Cards = map[string][]byte{}
		}
		into.Cards[name] = data
		return data, nil
	}
}

// card fetches a measure card by its bare name from the first of the folders that has it.
func card(dirs ...string) func(name string) ([]byte, error) {
	return func(name string) ([]byte, error) {
		if !store.PlainName(name) || len(name) > maxCardName {
			return nil, fmt.Errorf("%q is not the name of a measure card: a bare name, without folders", name)
		}
		for _, dir := range dirs {
			for _, ext := range []string{"", ".yaml", ".yml"} {
				data, err := readSmall(filepath.Join(dir, name+ext))
				if !errors.Is(err, fs.ErrNotExist) {
					return data, err
				}
			}
		}
		return nil, &noCard{name: name, there: cardsIn(dirs[len(dirs)-1])}
	}
}

// noCard says that a measure card is not there, and which ones the workroom's folder has.
type noCard struct {
	name  string
	there []string
}

func (e *noCard) Error() string {
	return fmt.Sprintf("there is no measure card %q beside the draft or in the workroom's folder cards", e.name)
}

func (e *noCard) Unwrap() error { return fs.ErrNotExist }

// Cards are the names of the cards that are there.
func (e *noCard) Cards() []string { return e.there }

// cardsIn lists the measure cards of a folder by their bare names.
func cardsIn(dir string) []string {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil // without such a folder there are none
	}
	var out []string
	for _, e := range entries {
		switch ext := filepath.Ext(e.Name()); {
		case ext == ".yaml" || ext == ".yml":
			out = append(out, strings.TrimSuffix(e.Name(), ext))
		case e.Type().IsRegular():
			out = append(out, e.Name()) // found by its whole name only
		}
	}
	return out
}

func readSmall(path string) ([]byte, error) {
	st, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	if !st.Mode().IsRegular() || st.Size() > maxCard {
		return nil, fmt.Errorf("%s is no measure card", path)
	}
	return os.ReadFile(path)
}

// Cards fetches measure cards for a draft, by name: those that came with it, then those beside it and in the workroom.
func (m *Maker) Cards(r Request) func(name string) ([]byte, error) { return m.cardOf(r, &Read{}) }

// Figures writes a measured draft's derived numbers, lengths, girths, seam pairs and marking-out list:
// as "text", "json" or "html". The answer "body" names a body or a measure card; without it, the draft's own counts.
func (m *Maker) Figures(w io.Writer, r Request, form string) error {
	if err := draft.Figures(w, r.Source, r.Name, form, draft.Options{Body: r.Answers["body"], Card: m.Cards(r)}); err != nil {
		return figuresRefused(err)
	}
	return nil
}

// figuresRefused gives each fault a line with its place and what mends it.
func figuresRefused(err error) error {
	var faults []error
	for _, ft := range draft.Faults(err) {
		text := ft.Message
		if ft.Line > 0 {
			text = fmt.Sprintf("line %d, column %d: %s", ft.Line, ft.Column, text)
		}
		if ft.Mend != "" {
			text += "; " + ft.Mend
		}
		faults = append(faults, errors.New(text))
	}
	return errors.Join(faults...)
}

package pipeline

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"tracewheel/pipeline/draft"
)

// maxCard bounds a measure card: it holds some dozens of numbers.
const maxCard = 1 << 20

// card fetches a measure card by its bare name: from beside the draft, then from the folder cards
// beside the workroom file, which is where the daemon finds them.
func (h *House) card(draftName string) func(name string) ([]byte, error) {
	return func(name string) ([]byte, error) {
		if name == "" || name != filepath.Base(name) || name == ".." || name == "." {
			return nil, fmt.Errorf("%q is not the name of a measure card: a bare name, without folders", name)
		}
		for _, dir := range []string{filepath.Dir(draftName), h.Room.Path("cards")} {
			for _, ext := range []string{"", ".yaml", ".yml"} {
				data, err := readSmall(filepath.Join(dir, name+ext))
				if !errors.Is(err, fs.ErrNotExist) {
					return data, err
				}
			}
		}
		return nil, fmt.Errorf("there is no measure card %q beside the draft or in the workroom's folder cards: %w", name, fs.ErrNotExist)
	}
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

// Figures writes a measured draft's derived numbers, lengths, girths, seam pairs and marking-out list:
// as "text", "json" or "html". body names a measure card, "" takes the draft's own.
func (h *House) Figures(w io.Writer, data []byte, name, body, form string) error {
	if err := draft.Figures(w, data, name, form, draft.Options{Body: body, Card: h.card(name)}); err != nil {
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

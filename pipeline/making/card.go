package making

import (
	"path/filepath"

	"tracewheel/pipeline/draft"
	"tracewheel/pipeline/namedfiles"
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
	return namedfiles.Find("measure card", "cards", draft.IsMeasured, dirs...)
}

// Whole gives a measured draft with all that it takes from blocks, as one file.
func (m *Maker) Whole(data []byte, name string) ([]byte, error) {
	out, err := draft.Whole(data, name, draft.Options{Block: m.block(filepath.Dir(name))})
	if err != nil {
		return nil, draft.InLines(err)
	}
	return out, nil
}

package forget

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"tracewheel/config"
	"tracewheel/pipeline/store"
)

// textLimit is how large a draft or a ticket may be that is looked through for the name of a card.
const textLimit = 4 << 20

func yamlName(name string) bool {
	ext := strings.ToLower(filepath.Ext(name))
	return ext == ".yaml" || ext == ".yml"
}

// names tells whether a ticket says `body: CARD`, or a draft `card: CARD`.
func names(text []byte, card string) bool {
	return regexp.MustCompile(`(?m)(^|[\s{,])(body|card):\s*["']?` + regexp.QuoteMeta(card) + `(\.ya?ml)?["']?\s*([,}#].*)?$`).Match(text)
}

// naming lists the texts under a folder that name a card.
func naming(dir, card string) (files []string) {
	_ = filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error { // what cannot be read names none
		if err != nil || !d.Type().IsRegular() || !yamlName(path) {
			return nil
		}
		if info, err := d.Info(); err == nil && info.Size() <= textLimit {
			if text, err := os.ReadFile(path); err == nil && names(text, card) {
				files = append(files, path)
			}
		}
		return nil
	})
	return files
}

// cardFiles are the card's file and its old versions.
func cardFiles(room *config.Workroom, card string) (files []string) {
	dir := room.Path("cards")
	for _, name := range []string{card, card + ".yaml", card + ".yml"} {
		if info, err := os.Lstat(filepath.Join(dir, name)); err == nil && !info.IsDir() {
			files = append(files, filepath.Join(dir, name))
		}
	}
	old, _ := os.ReadDir(filepath.Join(dir, ".versions"))
	for _, e := range old {
		if strings.HasPrefix(e.Name(), card+" 2") && yamlName(e.Name()) {
			files = append(files, filepath.Join(dir, ".versions", e.Name()))
		}
	}
	return files
}

// wearersOf are the names that a card's wearer goes by.
func wearersOf(files []string, card string) []string {
	all := []string{card}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			continue
		}
		if m := regexp.MustCompile(`(?m)^wearer:\s*["']?(.*?)["']?\s*(#.*)?$`).FindSubmatch(text); m != nil && len(m[1]) > 0 && !slices.Contains(all, string(m[1])) {
			all = append(all, string(m[1]))
		}
	}
	return all
}

// log takes the lines of the jobs out of the log and its older files, each written whole beside and then put in its
// place.
func (f *forgetting) log(context.Context) error {
	file := f.room.Path(f.room.Log.File)
	ending := filepath.Ext(file)
	all, err := filepath.Glob(strings.TrimSuffix(file, ending) + "-*" + ending)
	if err != nil {
		return err
	}
	for _, path := range append(all, file) {
		text, err := os.ReadFile(path)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return err
		}
		var kept bytes.Buffer
		lines := bufio.NewReader(bytes.NewReader(text))
		for {
			line, err := lines.ReadBytes('\n')
			if len(line) > 0 && !f.tells(line) {
				kept.Write(line)
			}
			if err != nil {
				break
			}
		}
		if kept.Len() == len(text) {
			continue
		}
		if _, err := store.SaveFile(store.Disk{}, path, &kept, store.PrivateFile); err != nil {
			return err
		}
	}
	return nil
}

// tells says whether a line of the log is about one of the jobs, or about the card or a draft before it was a job.
func (f *forgetting) tells(line []byte) bool {
	var about struct {
		Job int64 `json:"job"`
	}
	if err := json.Unmarshal(line, &about); err == nil && about.Job != 0 && slices.Contains(f.mark.Jobs, about.Job) {
		return true
	}
	has := func(name string) bool {
		quoted, err := json.Marshal(name)
		return err == nil && len(name) > 2 && bytes.Contains(line, bytes.Trim(quoted, `"`))
	}
	return has(f.mark.Card) || about.Job == 0 && slices.ContainsFunc(f.mark.Files, has)
}

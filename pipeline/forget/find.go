package forget

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/store"
)

// textLimit is the largest draft or ticket, in bytes, that is searched for the name of a card.
const textLimit = 4 << 20

func yamlName(name string) bool {
	ext := strings.ToLower(filepath.Ext(name))
	return ext == ".yaml" || ext == ".yml"
}

// naming lists the texts under a folder that is picks by what they say; none where there is no such folder.
func naming(dir string, is func(said) bool) (files []string, err error) {
	err = filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if errors.Is(err, fs.ErrNotExist) {
			return nil // or taken meanwhile
		}
		if err != nil || !d.Type().IsRegular() || !yamlName(path) {
			return err
		}
		info, err := d.Info()
		if err == nil && info.Size() <= textLimit {
			var text []byte
			if text, err = os.ReadFile(path); err == nil && is(saidBy(text)) {
				files = append(files, path)
			}
		}
		if errors.Is(err, fs.ErrNotExist) {
			return nil
		}
		return err
	})
	return files, err
}

// isNamed tells whether a text names the card, with or without its ending, or a name of its wearer.
func (f *forgetting) isNamed(s said) bool {
	return slices.ContainsFunc(s.cards, f.isCard) || slices.ContainsFunc(s.wearers, f.isWearer)
}

// isFor tells whether a text is for the card: it names the card, or a name of its wearer and no other card of the
// workroom. Two cards may have one wearer, and two wearers one name.
func (f *forgetting) isFor(s said) bool {
	return slices.ContainsFunc(s.cards, f.isCard) || f.isNamed(s) && !slices.ContainsFunc(s.cards, func(name string) bool {
		return slices.Contains(f.others, pattern.TrimYAML(name)) && !slices.Contains(s.bodies, name)
	})
}

func (f *forgetting) isCard(name string) bool { return pattern.TrimYAML(name) == f.mark.Card }

func (f *forgetting) isWearer(name string) bool {
	return slices.ContainsFunc(f.mark.Wearers, func(w string) bool {
		return strings.EqualFold(strings.Join(strings.Fields(w), " "), strings.Join(strings.Fields(name), " "))
	})
}

// cardFiles are the card's file and its old versions, and what a crash left while one was written.
func (f *forgetting) cardFiles() (files []string, err error) {
	file := filepath.Join(f.room.Path("cards"), f.mark.Card+".yaml")
	for dir, is := range map[string]func(name string) bool{
		filepath.Dir(file): f.isCard,
		store.VersionsDir(file): func(name string) bool {
			_, is := store.VersionNamed(file, name)
			_, short := store.VersionNamed(strings.TrimSuffix(file, ".yaml")+".yml", name)
			return is || short
		},
	} {
		entries, err := os.ReadDir(dir)
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return nil, err
		}
		for _, e := range entries {
			if !e.IsDir() && store.IsOrTemporary(e.Name(), is) {
				files = append(files, filepath.Join(dir, e.Name()))
			}
		}
	}
	slices.Sort(files)
	return files, nil
}

// seeOthers lists the other cards that are there.
func (f *forgetting) seeOthers() error {
	entries, err := os.ReadDir(f.room.Path("cards"))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	for _, e := range entries {
		if name := e.Name(); !e.IsDir() && yamlName(name) && store.PlainName(name) && !f.isCard(name) {
			f.others = append(f.others, pattern.TrimYAML(name))
		}
	}
	return nil
}

// wearersOf gives the names of a card's wearer.
func wearersOf(files []string, card string) ([]string, error) {
	all := []string{card}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil && !errors.Is(err, fs.ErrNotExist) { // a link to nothing says nothing
			return nil, err
		}
		for _, w := range saidBy(text).wearers {
			if !slices.Contains(all, w) {
				all = append(all, w)
			}
		}
	}
	return all, nil
}

// log removes the lines of the jobs from the log and its older files. Each file is written whole beside the old one, and
// then replaces it.
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

// tells tells whether a line of the log is about one of the jobs or, where it is about no job, names the card, its wearer
// or a draft that was not a job yet. A line that was cut short is removed where either is possible.
func (f *forgetting) tells(line []byte) bool {
	names := slices.Concat([]string{f.mark.Card, f.mark.Card + ".yaml", f.mark.Card + ".yml"}, f.mark.Wearers, f.mark.Files)
	var about struct {
		Job int64 `json:"job"`
	}
	var values map[string]any
	if json.Unmarshal(line, &values) != nil || json.Unmarshal(line, &about) != nil {
		return hasName(string(line), names) || slices.ContainsFunc(f.mark.Jobs, func(id int64) bool {
			return bytes.Contains(append(line, ','), fmt.Appendf(nil, `"job":%d,`, id))
		})
	}
	if about.Job != 0 {
		return slices.Contains(f.mark.Jobs, about.Job)
	}
	for _, own := range []string{"level", "ts", "stage", "device", "devices", "stack"} { // they do not hold names of a person's things
		delete(values, own)
	}
	return hasIn(values, names)
}

// hasIn tells whether one of the texts of a value of JSON has one of the names.
func hasIn(value any, names []string) bool {
	switch v := value.(type) {
	case string:
		return hasName(v, names)
	case []any:
		return slices.ContainsFunc(v, func(one any) bool { return hasIn(one, names) })
	case map[string]any:
		return hasIn(slices.Collect(maps.Values(v)), names)
	}
	return false
}

// hasName tells whether a text is one of the names, or holds one as a name: quoted, at the end of a path, or, with the
// ending of a file, as a word. A card "cloth" is not named by "no cloth is known", nor by a folder of that name, nor by
// "cloth 2.yaml".
func hasName(text string, names []string) bool {
	for _, name := range names {
		before, after := `"'/\`, `"':,;)`
		if filepath.Ext(name) != "" {
			before, after = before+" (", after+" "
		}
		for at := 0; name != ""; at++ {
			i := strings.Index(text[at:], name)
			if i < 0 {
				break
			}
			at += i
			end := at + len(name)
			begins := at > 0 && strings.IndexByte(before, text[at-1]) >= 0
			ends := end < len(text) && strings.IndexByte(after, text[end]) >= 0
			if filepath.Ext(name) != "" {
				begins, ends = begins || at == 0, ends || end == len(text)
			}
			if begins && (ends || end == len(text)) || len(text) == len(name) {
				return true
			}
		}
	}
	return false
}

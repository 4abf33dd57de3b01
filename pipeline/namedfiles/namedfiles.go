// Package namedfiles finds a small file by its bare name, as a measured draft names its measure card or the draft from
// which it takes: in the first of several folders that has it. It knows nothing of what is in it.
package namedfiles

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"tracewheel/pipeline/store"
)

// mostBytes bounds a measure card, a ticket, and a draft that is taken from: each is a page or two of text.
const mostBytes = 1 << 20

// mostDraft bounds a draft that a person names.
const mostDraft = 64 << 20

// longestName bounds its name, so that a file of the store may bear it.
const longestName = 200

// In fetches a file of a kind by its bare name from the first of the folders that has it; the last is the workroom's
// folder of that name. The error wraps fs.ErrNotExist where none has it, and its Cards are the names that the last one has.
func In(kind, folder string, dirs ...string) func(name string) ([]byte, error) {
	find := Find(kind, folder, nil, dirs...)
	return func(name string) ([]byte, error) {
		_, data, err := find(name)
		return data, err
	}
}

// Find is In with the path of the file. What other says to be of another kind, by what it holds, is passed over.
func Find(kind, folder string, other func(data []byte) bool, dirs ...string) func(name string) (path string, data []byte, err error) {
	return func(name string) (string, []byte, error) {
		if !store.PlainName(name) || len(name) > longestName {
			return "", nil, fmt.Errorf("%q is not the name of a %s: a bare name, without folders", name, kind)
		}
		for _, dir := range dirs {
			for _, ext := range []string{"", ".yaml", ".yml"} {
				path := filepath.Join(dir, name+ext)
				data, err := Read(path, kind)
				if errors.Is(err, fs.ErrNotExist) || err == nil && other != nil && other(data) {
					continue
				}
				return path, data, err
			}
		}
		return "", nil, &missing{kind: kind, folder: folder, name: name, there: Names(dirs[len(dirs)-1])}
	}
}

// Whole fetches a draft by the whole name of its file from the first of the folders that has it, as In does.
func Whole(kind, folder string, dirs ...string) func(name string) ([]byte, error) {
	return func(name string) ([]byte, error) {
		if !store.PlainName(name) || len(name) > longestName {
			return nil, fmt.Errorf("%q is not the name of a %s: a bare name, without folders", name, kind)
		}
		for _, dir := range dirs {
			if data, err := read(filepath.Join(dir, name), kind, mostDraft); !errors.Is(err, fs.ErrNotExist) {
				return data, err
			}
		}
		return nil, &missing{kind: kind, folder: folder, name: name, there: Names(dirs[len(dirs)-1])}
	}
}

// missing says that a file is not there, and which ones the workroom's folder has.
type missing struct {
	kind, folder, name string
	there              []string
}

func (e *missing) Error() string {
	return fmt.Sprintf("there is no %s %q beside the draft or in the workroom's folder %s", e.kind, e.name, e.folder)
}

func (e *missing) Unwrap() error { return fs.ErrNotExist }

// Cards are the names of those that are there.
func (e *missing) Cards() []string { return e.there }

// Names lists the files of a folder by their bare names.
func Names(dir string) []string {
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

// Read reads a small file of a kind; a folder, a device or a large file is none. A link is none either: it may lead out of
// the folder, to what was never meant for a draft.
func Read(path, kind string) ([]byte, error) { return read(path, kind, mostBytes) }

func read(path, kind string, most int64) ([]byte, error) {
	st, err := os.Lstat(path)
	if err != nil {
		return nil, err
	}
	if st.Mode()&fs.ModeSymlink != 0 {
		return nil, fmt.Errorf("%s is a link, and links are not followed: put a copy of the %s in its place", path, kind)
	}
	if !st.Mode().IsRegular() || st.Size() > most {
		return nil, fmt.Errorf("%s is no %s", path, kind)
	}
	f, err := os.OpenInRoot(filepath.Dir(path), filepath.Base(path)) // out of which no link leads, also one put there since
	if err != nil {
		return nil, err
	}
	defer f.Close() //nolint:errcheck // only read
	data, err := io.ReadAll(io.LimitReader(f, most+1))
	if err == nil && int64(len(data)) > most {
		err = fmt.Errorf("%s is no %s", path, kind)
	}
	return data, err
}

// Draft reads a draft that a person names, through links where the name is one. A pipe or a device, which may never end,
// is none.
func Draft(path string) ([]byte, error) {
	st, err := os.Stat(path)
	switch {
	case err != nil:
		return nil, err
	case st.IsDir():
		return nil, fmt.Errorf("%s is a folder; name a draft in it", path)
	case !st.Mode().IsRegular():
		return nil, fmt.Errorf("%s is no plain file; save the draft as one", path)
	case st.Size() > mostDraft:
		return nil, fmt.Errorf("%s has %d MB; a draft has at most %d MB", path, st.Size()>>20, mostDraft>>20)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close() //nolint:errcheck // only read
	return io.ReadAll(io.LimitReader(f, mostDraft))
}

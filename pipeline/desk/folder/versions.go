package folder

import (
	"bytes"
	"fmt"
	"io/fs"
	"os"
	"slices"

	"tracewheel/pipeline/desk/differing"
	"tracewheel/pipeline/store"
)

// Old is a draft as it was until At.
type Old struct {
	store.Version
	When string // At for people, in local time
	// Text is its text, Change what was changed in it then.
	Text   string
	Change differing.Change
}

// WithChanges adds to versions, the newest first, their texts and the changes to the next one, or to the present file.
func WithChanges(list []Old, now []byte) (out []Old) {
	next := string(now)
	for _, v := range list {
		text, err := Read(v.File)
		if err != nil {
			continue // removed meanwhile
		}
		v.Text = string(text)
		v.Change = differing.Of(v.Text, next)
		next = v.Text
		out = append(out, v)
	}
	return out
}

// KeepShown stores the text of a page whose file another program changed, since that program kept no version. Where
// the newest version has the same text, it gives that one.
func KeepShown(file string, text []byte) (id string, err error) {
	saving.Lock()
	defer saving.Unlock()
	old, err := Versions(file)
	if err != nil {
		return "", err
	}
	if len(old) > 0 {
		if last, err := Read(old[0].File); err == nil && bytes.Equal(last, text) {
			return old[0].ID, nil
		}
	}
	return keepOld(file, text)
}

// Versions lists the old versions of a draft, the newest first.
func Versions(file string) (out []Old, err error) {
	all, err := store.Versions(file)
	for _, v := range slices.Backward(all) {
		info, err := os.Lstat(v.File)
		if err != nil || !info.Mode().IsRegular() {
			continue // removed meanwhile, or not a regular file
		}
		out = append(out, Old{v, v.At.Local().Format("2 January 2006, 15:04:05"), "", differing.Change{}})
	}
	return out, err
}

// TextOf is the stored text for which VersionOf gives version; false where there is none.
func TextOf(file, version string) (text string, kept bool) {
	old, _ := Versions(file) // none on an error
	for _, v := range old {
		if then, err := Read(v.File); err == nil && VersionOf(then) == version {
			return string(then), true
		}
	}
	return "", false
}

// OldText is the text of an old version.
func OldText(file, id string) ([]byte, error) {
	v, is := store.VersionOf(file, id)
	if !is {
		return nil, fmt.Errorf("there is no version %q: %w", id, fs.ErrNotExist)
	}
	return Read(v.File)
}

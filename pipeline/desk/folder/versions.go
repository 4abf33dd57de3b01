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
	When string // At for people, in the time of this machine
	// Text is what it held, Change what was done to it then.
	Text   string
	Change differing.Change
}

// WithChanges are versions, the newest first, with their texts and what became of each: the next one, or the file of now.
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

// KeepShown keeps what stood on a page whose file another program changed: that program kept nothing. Where the newest version
// holds it already, that is the one.
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
			continue // removed meanwhile, or no plain file
		}
		out = append(out, Old{v, v.At.Local().Format("2 January 2006, 15:04:05"), "", differing.Change{}})
	}
	return out, err
}

// TextOf is the kept text of a file of which VersionOf gives version; false where none is kept.
func TextOf(file, version string) (text string, kept bool) {
	old, _ := Versions(file) // without them there is none
	for _, v := range old {
		if then, err := Read(v.File); err == nil && VersionOf(then) == version {
			return string(then), true
		}
	}
	return "", false
}

// OldText is what an old version holds.
func OldText(file, id string) ([]byte, error) {
	v, is := store.VersionOf(file, id)
	if !is {
		return nil, fmt.Errorf("there is no version %q: %w", id, fs.ErrNotExist)
	}
	return Read(v.File)
}

// Package newroom writes a workroom into a folder: its file, a folder for each device, samples.
package newroom

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"

	"tracewheel/config"
	"tracewheel/config/samples"
	"tracewheel/pipeline/draft"
	"tracewheel/pipeline/lessons"
	"tracewheel/pipeline/store"
)

// Write writes a workroom into a folder: its commented file, a folder for each device of the sample, sample
// drafts and a measure card to try, and the pages that say how drafts are written. It never writes over a workroom that is there. The answer lists what was made.
func Write(dir string, sample *config.Workroom) ([]string, error) {
	file := filepath.Join(dir, "workroom.yaml")
	if _, err := os.Stat(file); err == nil {
		return nil, fmt.Errorf("%s is there already; name another folder", file)
	} else if !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	made := []string{"workroom.yaml"}
	for _, name := range sample.DeviceNames() {
		if err := os.MkdirAll(filepath.Join(dir, sample.Folders.Inbox, name), store.Private); err != nil {
			return nil, err
		}
		made = append(made, path.Join(sample.Folders.Inbox, name))
	}
	if err := os.MkdirAll(filepath.Join(dir, sample.Folders.Returned), store.Private); err != nil {
		return nil, err
	}
	if err := os.CopyFS(filepath.Join(dir, "drafts"), samples.Drafts()); err != nil {
		return nil, err
	}
	if err := os.CopyFS(filepath.Join(dir, "cards"), samples.Cards()); err != nil {
		return nil, err
	}
	for name, text := range draft.MeasuredHelp() {
		if err := os.WriteFile(filepath.Join(dir, "drafts", name), text, 0o644); err != nil {
			return nil, err
		}
	}
	for name, write := range lessons.Pages {
		page, err := write()
		if err != nil {
			return nil, err
		}
		if err := os.WriteFile(filepath.Join(dir, "drafts", name), page, 0o644); err != nil {
			return nil, err
		}
	}
	if err := os.WriteFile(file, config.SampleFile(), 0o644); err != nil {
		return nil, err
	}
	return append(made, "cards", "drafts"), nil
}

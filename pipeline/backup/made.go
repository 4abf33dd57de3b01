package backup

import (
	"bytes"
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"tracewheel/pipeline/store"
)

// madeFile lists the copies that were made of a store, one a line.
const madeFile = "backups.jsonl"

// Noted is a copy that was made, wherever it is now.
type Noted struct {
	File string    `json:"file"`
	At   time.Time `json:"at"`
}

// note adds a copy to those of its store. It is written after the copy stands; a crash between the two leaves a copy
// that nobody lists.
func note(dir string, n Noted) (err error) {
	if n.File, err = filepath.Abs(n.File); err != nil {
		return err
	}
	line, err := json.Marshal(n)
	if err != nil {
		return err
	}
	f, err := os.OpenFile(filepath.Join(dir, madeFile), os.O_WRONLY|os.O_APPEND|os.O_CREATE, store.PrivateFile)
	if err != nil {
		return err
	}
	_, err = f.Write(append(line, '\n'))
	return errors.Join(err, f.Sync(), f.Close())
}

// Made lists the copies that were made of a store, the oldest first. A line that cannot be read is left out.
func Made(dir string) (all []Noted, err error) {
	text, err := os.ReadFile(filepath.Join(dir, madeFile))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	for line := range bytes.Lines(text) {
		var n Noted
		if json.Unmarshal(line, &n) == nil && n.File != "" {
			all = append(all, n)
		}
	}
	return all, err
}

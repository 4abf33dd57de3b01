package backup

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
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

// note adds a copy to the list in its store. It is called when the copy is complete; a crash before it leaves a copy that
// is not listed, a crash during it a line that is cut short, after which the next copy begins a new line.
func note(fsys store.FS, dir string, n Noted) (err error) {
	if n.File, err = filepath.Abs(n.File); err != nil {
		return err
	}
	line, err := json.Marshal(n)
	if err != nil {
		return err
	}
	f, err := fsys.OpenFile(filepath.Join(dir, madeFile), os.O_RDWR|os.O_APPEND|os.O_CREATE, store.PrivateFile)
	if err != nil {
		return err
	}
	had, err := io.ReadAll(f)
	if len(had) > 0 && had[len(had)-1] != '\n' {
		line = append([]byte("\n"), line...)
	}
	if err == nil {
		_, err = f.Write(append(line, '\n'))
	}
	return errors.Join(err, f.Sync(), f.Close(), fsys.SyncDir(dir))
}

// Made lists the copies that were made of a store, the oldest first, and counts the lines that cannot be read.
func Made(dir string) (all []Noted, unread int, err error) {
	text, err := os.ReadFile(filepath.Join(dir, madeFile))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, 0, nil
	}
	for line := range bytes.Lines(text) {
		var n Noted
		switch {
		case len(bytes.TrimSpace(line)) == 0:
		case json.Unmarshal(line, &n) == nil && filepath.IsAbs(n.File) && !n.At.IsZero():
			all = append(all, n)
		default:
			unread++
		}
	}
	return all, unread, err
}

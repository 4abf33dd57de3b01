package backup

import (
	"path"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"tracewheel/pipeline/pattern"
)

// The names in an archive beside those of the store, whose folder the manifest names. The manifest is last but for its own
// sum, so that an archive that was cut off has none.
const (
	manifestName = "manifest.json"
	sumName      = "manifest.json.sha256"
	roomName     = "workroom.yaml"
	cardsName    = "cards"
	ledgerName   = "ledger.db"
	format       = "tracewheel copy, version 1"
)

// manifest is what an archive holds.
type manifest struct {
	Format string    `json:"format"`
	Taken  time.Time `json:"taken"`
	// Store is the store's folder in the archive, named as in the workroom file where that is a folder beside it.
	Store string  `json:"store"`
	Files []entry `json:"files"`
}

type entry struct {
	Name   string `json:"name"`
	Size   int64  `json:"size"`
	SHA256 string `json:"sha256"`
}

// names are the manifest's files by name.
func (m manifest) names() map[string]entry {
	all := map[string]entry{}
	for _, f := range m.Files {
		all[f.Name] = f
	}
	return all
}

// may tells whether a file in an archive may have a name: a plain path that does not lead outside, of a file that a copy
// holds.
func (m manifest) may(name string) bool {
	if !filepath.IsLocal(filepath.FromSlash(name)) || path.Clean(name) != name || strings.Contains(name, "\\") || !pattern.IsPrintable(name) {
		return false
	}
	if name == roomName || strings.HasPrefix(name, cardsName+"/") {
		return true
	}
	rest, in := strings.CutPrefix(name, m.Store+"/")
	first, _, deeper := strings.Cut(rest, "/")
	return in && (rest == ledgerName || deeper && first != "control" && !strings.HasPrefix(first, ledgerName) && !slices.ContainsFunc(strings.Split(rest, "/"), hidden))
}

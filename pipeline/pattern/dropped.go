package pattern

import (
	"path/filepath"
	"strings"
)

// LeftAlone tells names that are no drop: hidden, or on their way to another name.
func LeftAlone(name string) bool {
	if name == "" || strings.HasPrefix(name, ".") || strings.HasPrefix(name, "~$") || strings.HasSuffix(name, "~") {
		return true
	}
	if strings.HasPrefix(name, "#") && strings.HasSuffix(name, "#") {
		return true
	}
	lower := strings.ToLower(name)
	switch lower {
	case "4913", "thumbs.db", "desktop.ini": // an editor's trial file, and what a file manager leaves
		return true
	}
	return tempEndings[filepath.Ext(lower)]
}

// tempEndings are the endings that copiers, browsers and editors give to what is not whole yet
// (common practice, from memory).
var tempEndings = map[string]bool{".tmp": true, ".temp": true, ".part": true, ".partial": true,
	".filepart": true, ".crdownload": true, ".download": true, ".opdownload": true, ".swp": true,
	".swo": true, ".swx": true, ".bak": true, ".lock": true, ".lck": true}

// TicketOf tells whether a file is a ticket, and of what: skirt.ticket.yaml of every file called skirt,
// skirt.svg.ticket.yaml of skirt.svg alone.
func TicketOf(name string) (of string, ok bool) {
	lower := strings.ToLower(name)
	for _, end := range []string{".ticket.yaml", ".ticket.yml"} {
		if strings.HasSuffix(lower, end) && len(name) > len(end) {
			return name[:len(name)-len(end)], true
		}
	}
	return "", false
}

package namedfiles

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// TicketNames are the names that a draft's ticket beside it may bear, the closest first, as in the inbox:
// apron.svg has apron.svg.ticket.yaml or apron.ticket.yaml.
func TicketNames(file string) []string {
	short := strings.TrimSuffix(file, filepath.Ext(file))
	return []string{file + ".ticket.yaml", file + ".ticket.yml", short + ".ticket.yaml", short + ".ticket.yml"}
}

// Ticket reads the ticket of a draft: the file that is named, else the one beside the draft; nil where there is none.
func Ticket(draft, named string) ([]byte, error) {
	if named != "" {
		return Read(named, "ticket")
	}
	for _, beside := range TicketNames(draft) {
		if data, err := Read(beside, "ticket"); !errors.Is(err, fs.ErrNotExist) {
			return data, err
		}
	}
	return nil, nil
}

// StrayTickets are the files beside a draft that look like tickets and belong to no file there: their names are
// not quite right, and nothing uses them.
func StrayTickets(file string) []string {
	dir := filepath.Dir(file)
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil // who reads the draft says so
	}
	owned := map[string]bool{}
	for _, e := range entries {
		for _, name := range TicketNames(e.Name()) {
			owned[strings.ToLower(name)] = true
		}
	}
	var out []string
	for _, e := range entries {
		name := strings.ToLower(e.Name())
		if !strings.Contains(name, "ticket") || owned[name] || !e.Type().IsRegular() {
			continue
		}
		if !slices.Contains([]string{".yaml", ".yml", ".txt", ".ticket"}, filepath.Ext(name)) {
			continue
		}
		if data, err := Read(filepath.Join(dir, e.Name()), "ticket"); err == nil && !draftsStyle.Match(data) {
			out = append(out, e.Name())
		}
	}
	return out
}

// draftsStyle is the line that every measured draft has and no ticket.
var draftsStyle = regexp.MustCompile(`(?m)^style:`)

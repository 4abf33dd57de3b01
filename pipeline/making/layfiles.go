package making

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"tracewheel/geom"
	"tracewheel/pipeline/lay"
	"tracewheel/pipeline/look"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/picture"
	"tracewheel/pipeline/prepare"
)

// TicketNames are the names that a draft's ticket beside it may bear, the closest first, as in the inbox:
// apron.svg has apron.svg.ticket.yaml or apron.ticket.yaml.
func TicketNames(file string) []string {
	short := strings.TrimSuffix(file, filepath.Ext(file))
	return []string{file + ".ticket.yaml", file + ".ticket.yml", short + ".ticket.yaml", short + ".ticket.yml"}
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
		if data, err := readSmall(filepath.Join(dir, e.Name())); err == nil && !draftsStyle.Match(data) {
			out = append(out, e.Name())
		}
	}
	return out
}

// draftsStyle is the line that every measured draft has and no ticket.
var draftsStyle = regexp.MustCompile(`(?m)^style:`)

// Unreadable is the Work of a file that could not even be opened.
func Unreadable(file string, err error) *Work {
	w := &Work{Request: Request{Name: file}}
	w.add(refused(pattern.NewFinding(pattern.RuleUnreadable, err.Error(), "")))
	return w
}

// Minutes tells a time in seconds in words.
func Minutes(s float64) string {
	switch {
	case s < 90:
		return fmt.Sprintf("%.0f s", math.Ceil(s))
	case s < 5400:
		return fmt.Sprintf("%.0f min", math.Ceil(s/60))
	default:
		return fmt.Sprintf("%.1f h", s/3600)
	}
}

// Layout is what `lay` makes of some drafts.
type Layout struct {
	Findings []pattern.Finding
	ready    []pattern.Ready
	lay      pattern.Lay
	inches   bool
}

// LayFiles reads, checks and prepares drafts and lays their pieces on one material of a width, and a
// length unless that is 0. It is ErrRefused where a draft or the lay has an error.
func (m *Maker) LayFiles(rs []Request, width, length float64) (*Layout, error) {
	l := &Layout{inches: m.inches()}
	for _, r := range rs {
		w := m.Look(r)
		l.Findings = append(l.Findings, w.Findings...)
		if w.Refused || pattern.Worst(w.Findings) == pattern.Error {
			continue
		}
		res, err := prepare.Run(w.Pattern, w.Ticket, m.preparing(nil, 0))
		if err != nil {
			l.Findings = append(l.Findings, pattern.NewFinding(pattern.RuleNotPrepared, err.Error(), ""))
			continue
		}
		l.Findings = append(l.Findings, res.Findings...)
		l.ready = append(l.ready, res.Ready...)
	}
	if pattern.Worst(l.Findings) == pattern.Error {
		return l, ErrRefused
	}
	var found []pattern.Finding
	l.lay, found = lay.Shelf(l.ready, pattern.Material{Name: "material", Width: width, Length: length, Gap: 5})
	l.Findings = append(l.Findings, found...)
	if pattern.Worst(found) == pattern.Error {
		return l, ErrRefused
	}
	return l, nil
}

// Pieces counts what was laid, LengthUsed is in mm, Efficiency from 0 to 1.
func (l *Layout) Pieces() int         { return len(l.lay.Placements) }
func (l *Layout) LengthUsed() float64 { return l.lay.LengthUsed }
func (l *Layout) Efficiency() float64 { return l.lay.Efficiency }

// WriteJSON writes the form of DESIGN section 5 in one line.
func (l *Layout) WriteJSON(w io.Writer) error {
	return json.NewEncoder(w).Encode(lay.NewSheet(l.lay, l.ready))
}

// Picture draws the lay; ext is ".svg" or ".png".
func (l *Layout) Picture(ext string) ([]byte, error) {
	v := picture.View{Title: "the lay", Width: l.lay.Material.Width, Length: l.lay.LengthUsed}
	for _, p := range l.lay.Placements {
		r := l.ready[p.Ready]
		v.Layers = append(v.Layers, picture.Layer{Kind: look.Cut, Paths: mapped(r.CutLines(), p.Map)})
		for _, ln := range r.Lines {
			v.Layers = append(v.Layers, picture.Layer{Kind: look.KindOf(ln.Role, ln.Label), Paths: []geom.Path{ln.Path.Apply(ln.PlacedBy(p.Map))}})
		}
	}
	c := picture.Device(v, picture.Options{Inches: l.inches})
	switch strings.ToLower(ext) {
	case ".svg":
		return c.SVG(), nil
	case ".png":
		return c.PNG(1600)
	}
	return nil, fmt.Errorf("a picture's name ends in .svg or .png, not %q", ext)
}

func mapped(paths []geom.Path, by geom.Affine) []geom.Path {
	out := make([]geom.Path, len(paths))
	for i, p := range paths {
		out[i] = p.Apply(by)
	}
	return out
}

package jobpicture

import (
	"cmp"
	"context"
	"net/http"
	"slices"
	"strings"

	"tracewheel/pipeline/ledger"
)

// Box is a piece that a person may choose: its number, as it stands on the piece in the picture of a lay, its name, and
// how far it came, "" where that is not told.
type Box struct {
	Number    int
	Name, Far string
}

// Boxes are the pieces of a job in the order of their numbers. A draft that was refused has no lay with numbers to
// compare them with: where their names are not known none is offered.
func (p *Pictures) Boxes(ctx context.Context, j ledger.Job, files []ledger.File) []Box {
	names := make([]string, max(j.Pieces, 0))
	known := 0
	put := func(number int, name string) {
		if number >= 1 && number <= len(names) && names[number-1] == "" && name != "" {
			names[number-1] = name
			known++
		}
	}
	if file, is := pictureOf(files, false); is {
		if s, err := p.shownOf(ctx, file); err == nil {
			for _, piece := range s.Pieces {
				put(piece.Number, piece.Name)
			}
		}
	}
	if known < len(names) && j.Ready {
		if prog, err := p.Jobs.Program(ctx, j.ID); err == nil {
			for i, name := range prog.Names {
				put(i+1, name)
			}
		}
	}
	if !j.Ready && known < len(names) {
		return nil
	}
	var out []Box
	for i, name := range names {
		out = append(out, Box{Number: i + 1, Name: name})
	}
	return out
}

// ToGoOn are the pieces from which a stopped job can go on, in the order in which they are finished, with how far each came.
func (p *Pictures) ToGoOn(ctx context.Context, j ledger.Job, files []ledger.File) ([]Box, error) {
	list, err := p.Jobs.Pieces(ctx, j.ID)
	if err != nil {
		return nil, err
	}
	boxes := p.Boxes(ctx, j, files)
	var out []Box
	for _, m := range list {
		if !m.Start {
			continue
		}
		one := Box{Number: m.Number, Name: m.Name, Far: m.Made}
		if i := slices.IndexFunc(boxes, func(k Box) bool { return k.Number == m.Number }); i >= 0 {
			one.Name = cmp.Or(boxes[i].Name, one.Name)
		}
		out = append(out, one)
	}
	return out, nil
}

// Chosen are the numbers of the pieces that a form chose, "" for all.
func Chosen(r *http.Request) string {
	var all []string
	for _, text := range r.PostForm["pieces"] {
		if text = strings.TrimSpace(text); text != "" {
			all = append(all, text)
		}
	}
	return strings.Join(all, ",")
}

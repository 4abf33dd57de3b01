package making

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"tracewheel/devices"
	"tracewheel/geom"
	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/look"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/picture"
	"tracewheel/pipeline/prepare"
	"tracewheel/pipeline/report"
)

// Build gives a draft's bytes, or its report, with the pictures. It is a job.Maker for the daemon.
func (m *Maker) Build(ctx context.Context, in job.Draft) (job.Made, error) {
	w, err := m.Make(ctx, in)
	if err != nil {
		return job.Made{}, err
	}
	if err := ctx.Err(); err != nil { // the result is no longer wanted
		return job.Made{}, err
	}
	if len(w.Beds) > 0 {
		return job.Made{Beds: w.Beds}, nil
	}
	made, drawn := w.Made()
	out := job.Made{Findings: report.ErrorsFirst(w.Findings), Program: w.Program, Pieces: w.Pieces(), Notes: w.Notes,
		DrawnMM: w.Program.DrawnMM, Refused: w.Refused, Reason: w.Reason, Hold: w.Hold}
	if w.Pattern != nil {
		out.Style = w.Pattern.Style
	}
	out.Order, out.Names = m.order(&w.Looked), w.names()
	if !w.Refused && w.Hold == "" {
		out.Cards, out.Blocks, out.With = w.Cards, w.Blocks, w.With
	}
	if drawn {
		out.Lay, out.Laid, out.Pictures = made.Kept, made.fed(made.Lay), m.pictures(w, made)
	}
	if drawn && w.Hold == "" {
		out.Fits = made.fits(ctx, made.Ready, made.Lay, w.Ticket, in, out.Order.Material)
	}
	if w.Refused || w.Hold != "" {
		if out.Report, err = m.report(&w.Looked, w.copies(), in.Job); err != nil {
			return job.Made{}, err
		}
	} else if slices.Max(append(picture.Numbered(out.Findings), 0)) > 0 {
		page, _ := m.reportPage(&w.Looked, w.copies(), in.Job)
		out.Report = map[string][]byte{"picture.svg": page.Picture}
	}
	if w.Program.Language == devices.PDF { // a PDF has no strokes to draw
		opt := m.pictureOptions(&w.Looked)
		opt.Copies = w.copies()
		out.Pictures = map[string][]byte{"pieces.svg": picture.Pattern(w.Pattern, nil, opt).SVG()}
	}
	return out, nil
}

func (m *Maker) pictureOptions(w *Looked) picture.Options {
	return picture.Options{Unit: m.unitOf(w), FaultsLarge: true}
}

// unitOf is the unit of a draft's lengths: its own, otherwise the workroom's.
func (m *Maker) unitOf(w *Looked) string {
	if w.Pattern == nil {
		return m.Room.Units
	}
	return w.Pattern.ReadIn(m.Room.Units)
}

// report is the page for a refused or waiting draft, in all forms, with its picture.
func (m *Maker) report(w *Looked, copies []picture.Copy, job int64) (map[string][]byte, error) {
	page, c := m.reportPage(w, copies, job)
	out := map[string][]byte{"report.txt": report.Text(page)}
	var err error
	if c != nil {
		out["picture.svg"] = page.Picture
		if out["picture.png"], err = c.PNG(1400); err != nil {
			return nil, err
		}
	}
	if out["report.html"], err = report.HTML(page); err == nil {
		out["report.pdf"], err = report.PDF(page, c.PDF)
	}
	return out, err
}

// Report is the report on a checked draft, as a PDF with its picture.
func (m *Maker) Report(w *Looked) ([]byte, error) {
	page, c := m.reportPage(w, nil, 0)
	page.Looked = true
	return report.PDF(page, c.PDF)
}

// reportPage gives the content of the report, and its picture, nil where there is nothing to draw.
func (m *Maker) reportPage(w *Looked, copies []picture.Copy, job int64) (page report.Page, c *picture.Canvas) {
	page = report.Page{Workroom: m.Room.Name, Device: w.Request.Device, File: w.Request.Name,
		Refused: w.Refused, Findings: report.ErrorsFirst(w.Findings)}
	page.Places.Unit = m.Room.Units
	if job > 0 {
		page.Job = fmt.Sprint(job)
	}
	if w.Pattern != nil {
		page.Places = w.Pattern.Places(m.Room.Units)
	}
	if w.Pattern != nil && len(w.Pattern.Pieces) > 0 {
		page.Style = w.Pattern.Style
		opt := m.pictureOptions(w)
		opt.Copies = copies
		c = picture.Pattern(w.Pattern, page.Findings, opt)
		page.Numbers = picture.Numbered(page.Findings)
		page.Picture = c.SVG()
	}
	return page, c
}

// pictures are those of a job that is made: the lay as the device sees it, what the blade would cut where that differs,
// and the cards of pieces that cannot be lettered.
func (m *Maker) pictures(w *Work, of Made) map[string][]byte {
	out := map[string][]byte{"lay.svg": picture.Device(w.view(of), m.pictureOptions(&w.Looked)).SVG()}
	if len(of.Departures) > 0 {
		out["as-cut.svg"] = picture.Device(w.cutView(of), m.pictureOptions(&w.Looked)).SVG()
	}
	if cards := report.Cards(of.Ready); len(cards) > 0 {
		out["cards.html"] = cards
	}
	return out
}

// copies are the pieces as they are cut, with the numbers by which `again` chooses them.
func (w *Work) copies() (out []picture.Copy) {
	p, _ := w.Prepared()
	for i, name := range prepare.Copies(w.Parts, p.Ready) {
		out = append(out, picture.Copy{Number: i + 1, Index: p.Ready[i].Index, Name: name})
	}
	return out
}

// Pieces is the number of pieces that are cut, 0 where the draft is not prepared.
func (w *Work) Pieces() int {
	p, _ := w.Prepared()
	return len(p.Ready)
}

// view is the view of what the device is asked to draw or cut.
func (w *Work) view(of Made) picture.View {
	v := picture.View{Title: w.named() + " on " + w.Request.Device + answers.Pieced(w.Request.Answers), Width: of.Profile.Width, Length: of.Profile.Length, Strokes: true}
	for _, s := range of.Strokes {
		v.Layers = append(v.Layers, picture.Layer{Kind: cmp.Or(look.Kind(s.Kind), look.KindOf(pattern.Role(s.Role), "")), Paths: []geom.Path{s.Path}})
	}
	for _, at := range of.Lay.Placements {
		for _, l := range of.Ready[at.Ready].Uncut {
			v.NotCut = append(v.NotCut, picture.Layer{Kind: look.KindOf(l.Role, l.Label), Paths: []geom.Path{l.Path.Apply(at.Map)}})
		}
	}
	v.Words, v.Pieces = picture.Numbers(of.Strokes, v.Length), picture.NumberedPieces(of.Strokes)
	v.Remnant = picture.Remnant{No: w.Request.Remnant.No, Length: w.Request.Remnant.Length, Width: w.Request.Remnant.Width}
	copies := w.copies()
	for i, p := range v.Pieces {
		if p.Number <= len(copies) {
			v.Pieces[i].Name = copies[p.Number-1].Name
		}
	}
	return v
}

// cutView is the view of what a simulated blade makes of the bytes, with the wanted lines pale under it.
func (w *Work) cutView(of Made) picture.View {
	v := picture.View{Title: w.named() + " as a simulated blade cuts it" + answers.Pieced(w.Request.Answers), Width: of.Profile.Width, Length: of.Profile.Length}
	for _, s := range of.Strokes {
		v.Layers = append(v.Layers, picture.Layer{Kind: look.Wanted, Paths: []geom.Path{s.Path}})
	}
	for _, c := range of.Cuts {
		v.Layers = append(v.Layers, picture.Layer{Kind: look.AsCut, Paths: []geom.Path{c.Path}})
	}
	for _, at := range departurePlaces(of.Departures) {
		v.Marks = append(v.Marks, picture.Mark{At: at, Severity: pattern.Error})
	}
	return v
}

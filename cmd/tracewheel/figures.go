package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"tracewheel/pipeline/cloths"
	"tracewheel/pipeline/labels"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/reading"
	"tracewheel/pipeline/sheets"
	"tracewheel/pipeline/terminal"
)

func (a *app) figuresCmd() *cobra.Command {
	var out, width string
	c := &cobra.Command{
		Use:   "figures FILE",
		Short: "print a measured draft's numbers, finished girths, seam pairs and a chalking list",
		Long: "Figures lists what a measured draft comes to for one body: its numbers worked out, the length of each edge, finished girths against the body, seams walked, " +
			"and for each piece every point as across and down from the fold or edge, so that it can be chalked straight onto folded cloth. " +
			"Each piece begins at its place in the first lay that is found, so far from the cut end and from the fold or a selvedge; pieces come in the order in which they lie from the cut end. Exit status 1, with the figures, if a seam differs or a check is not kept.",
		Example: "  tracewheel figures ferry-smock.yaml\n  tracewheel figures ferry-smock.yaml --body chorus-4.yaml --out figures.html",
		Args:    cobra.ExactArgs(1),
	}
	a.draftFlags(c)
	c.Flags().StringVar(&out, "out", "", "a page that prints, .html or .pdf")
	c.Flags().StringVar(&width, "width", "", "the cloth's width (default: the draft's, else 150 cm)")
	a.formatFlag(c)
	c.RunE = func(_ *cobra.Command, args []string) error { return a.figures(args[0], width, out) }
	return c
}

func (a *app) figures(file, width, out string) error {
	wish, err := (&cloths.Flags{Width: width}).Read()
	if err != nil {
		return usage(err)
	}
	asJSON, err := a.asJSON()
	if err != nil {
		return err
	}
	m, err := a.maker(a.beside(asJSON || out != ""), "", file)
	if err != nil {
		return err
	}
	r, err := a.request(file, "", "")
	if err != nil {
		return err
	}
	form := "text"
	if ext := strings.ToLower(filepath.Ext(out)); ext == ".html" || ext == ".pdf" {
		form = ext[1:]
	} else if asJSON {
		form = "json"
	}
	var b bytes.Buffer
	f, err := m.Figures(a.ctx, &b, r, wish, form)
	if err != nil {
		return refused(err)
	}
	switch {
	case out != "":
		err = a.wrote(out, b.Bytes(), "the figures of "+file)
	case asJSON:
		_, err = terminal.Escaped{To: a.out}.Write(b.Bytes())
	default:
		_, err = a.out.Write(b.Bytes())
	}
	if what := f.NotKept(); err == nil && what != "" {
		return refused(fmt.Errorf("%s: %s; check says where and what mends it", file, what))
	}
	return err
}

func (a *app) exportCmd() *cobra.Command {
	var out, ticket string
	c := &cobra.Command{
		Use:   "export FILE --out FILE.svg|FILE.dxf|FILE.yaml",
		Short: "save a checked draft as SVG or DXF, or with its block as one file",
		Long: "Export checks a draft and saves its pieces at true size: cut lines, sew lines, notches, drill marks, fold and grain lines, inner lines, names, sizes and quantities. " +
			"SVG elements bear their role as data-role, and inner lines their name as data-label; DXF has a block for each piece and the layers of the sewn-products interchange standard (ASTM D6673), in mm. " +
			"Where the draft or its ticket gives a seam allowance, the cut line is built. Read back, every piece is the same within 0.01 mm; pieces that lie on one another are drawn side by side. " +
			"Neither form has a place for the names of edges and of notches, for seam pairs, girths and ease, and for whose body it is; DXF has none for the names of inner lines either, so that a button or a slit is a plain inner line there. These are left out. A draft with errors or an open question is not saved. As .yaml, a measured draft is saved whole, with the drawings and numbers that it takes from: other drafts.",
		Example: "  tracewheel export ferry-smock.yaml --out smock.dxf\n  tracewheel export ferry-smock.yaml --body B --out smock-b.svg",
		Args:    cobra.ExactArgs(1),
	}
	a.draftFlags(c)
	c.Flags().StringVar(&out, "out", "", "where to save, .svg, .dxf or .yaml")
	c.Flags().StringVar(&ticket, "ticket", "", "the ticket file (default beside the draft, as for convert)")
	c.RunE = func(_ *cobra.Command, args []string) error { return a.export(args[0], ticket, out) }
	return c
}

func (a *app) export(file, ticket, out string) error {
	form := strings.ToLower(filepath.Ext(out))
	if form != ".svg" && form != ".dxf" && form != ".yaml" && form != ".yml" {
		return usage(errors.New("export needs --out with a name that ends in .svg, .dxf or .yaml"))
	}
	if same(file, out) {
		return usage(fmt.Errorf("%s is the draft itself; name another file with --out", out))
	}
	m, err := a.maker(a.err, "", file)
	if err != nil {
		return err
	}
	r, err := a.request(file, "", ticket)
	if err != nil {
		return err
	}
	if form == ".yaml" || form == ".yml" {
		whole, err := m.Whole(r.Source, r.Name)
		if err != nil {
			return refused(err)
		}
		return a.wrote(out, whole, "the draft with all that it takes from")
	}
	data, w, err := m.Export(r, form)
	if err != nil {
		return a.nothingWritten(file, w, m.Room.Units)
	}
	if err := a.wrote(out, data, pattern.Count(len(w.Pattern.Pieces), "piece")); err != nil {
		return err
	}
	a.printFindings(w.Findings)
	return nil
}

func (a *app) sheetsCmd() *cobra.Command {
	var w making.SheetFlags
	var out string
	c := &cobra.Command{
		Use:   "sheets FILE... --out FILE.pdf",
		Short: "print a draft at true size on office paper, to tape together",
		Long: "Sheets lays a draft's pieces on sheets of paper and writes a PDF of them at true size, for any printer: A4 or Letter sheets to tape together, or one long page for a copy shop's roll. " +
			"The first sheet has a map of the others, the pieces to cut, and two test squares: print that one first, at 100 % (actual size), and measure both. " +
			"The frame of each sheet has the lengths of its sides written on it, so that each sheet can be measured.\n\n" +
			"Papers: " + sheets.PaperNames() + ", each also with \"landscape\"; a roll by its width (\"36in roll\", \"914mm roll\"); a sheet by its size (500x700, 24x36in). " +
			"What is made for a4 or letter without --margin prints on both alike.\n\n" +
			"Several sizes, or bodies (--body A,B), lie on one another: as the draft draws them, else by the lower left corners of their boxes. Each has its name at both ends of each edge and every 20 cm, and a layer of its own.",
		Example: "  tracewheel sheets ferry-smock.yaml --body B --out smock.pdf\n  tracewheel sheets apron.svg --paper \"36in roll\" --out apron.pdf\n  tracewheel sheets apron.svg --paper a3 --net --pieces bib,pocket --out bib.pdf",
		Args:    cobra.MinimumNArgs(1),
	}
	a.draftFlags(c)
	f := c.Flags()
	f.StringVar(&w.Paper, "paper", "", "the paper: a4, letter, a3, \"36in roll\", 500x700 ... (default a4)")
	f.StringVar(&w.Printer, "printer", "", "a sheet-printer of the workroom: its paper, corrected by what is recorded of its test squares")
	f.StringVar(&w.Margin, "margin", "", "what the printer leaves free at each edge (default what suits the paper)")
	f.StringVar(&w.Overlap, "overlap", "", "how wide a strip two sheets share (default 10 mm)")
	f.StringSliceVar(&w.Pieces, "pieces", nil, "only these pieces, by name (default all)")
	f.StringVar(&w.Patterns, "patterns", "once", "once: each piece is drawn once, with its count on it; every-copy: all copies")
	f.BoolVar(&w.Net, "net", false, "no seam allowance: the sew line is what is cut")
	f.BoolVar(&a.toile, "toile", false, "of a measured draft: its toile, the main pieces with 25 mm everywhere and the lines of the body")
	f.BoolVar(&w.Projector, "projector", false, "one page at true size, light on black with a grid of 100 mm, to project onto cloth; its width by --paper, as \"1500mm roll\" (default 1200 mm)")
	f.StringVar(&out, "out", "", "the PDF to write")
	c.RunE = func(_ *cobra.Command, files []string) error { return a.sheets(files, w, out) }
	return c
}

func (a *app) sheets(files []string, w making.SheetFlags, out string) error {
	if !strings.HasSuffix(strings.ToLower(out), ".pdf") {
		return usage(errors.New("sheets needs --out with a name that ends in .pdf"))
	}
	m, err := a.maker(a.err, w.Printer, files...)
	if err != nil {
		return err
	}
	wish, err := m.SheetWish(w)
	if err != nil {
		return usage(err)
	}
	bodies := a.body
	a.body = ""
	rs, err := a.requests(files, "", bodies, out)
	if err != nil {
		return err
	}
	book, found, err := m.Sheets(a.ctx, rs, wish)
	(&app{out: a.err}).printFindings(found)
	if err != nil {
		return refused(err)
	}
	if err := writeOut(out, book.PDF); err != nil {
		return err
	}
	fmt.Fprint(a.err, book.Said(out, wish.Projector))
	return nil
}

func (a *app) labelsCmd() *cobra.Command {
	var f labels.Flags
	var device string
	c := &cobra.Command{
		Use: "labels FILE...|JOB --out FILE.pdf --card FILE.pdf", Args: cobra.MinimumNArgs(1),
		Short: "print stickers for cut pieces in cutting order, and a card to tick",
		Long: "Labels writes a sticker for each piece that is cut, every copy for itself: its name, the style, for whom it is, how often it is cut, the cloth, and its number: of a job that of the lay's picture, as `show` and `again --pieces` count too, of a file in cutting order. " +
			"--card writes the card of all pieces by cloth, to tick at the table. Of a job on a cutter the labels come in the order of its program; else from the beginning of each cloth, as `lay` lays the pieces first.\n\n" +
			"Sheets of labels on A4 and Letter: " + labels.Grids() + "; any other by columns, rows and the size of a label, as \"4x12 of 45x21.2\". On a roll each label is a page. Print at 100 %, and try on plain paper first, held against the labels.",
		Example: "  tracewheel labels ferry-smock.yaml --out labels.pdf --card card.pdf\n  tracewheel labels 12 --roll 62x29 --out labels.pdf\n  tracewheel labels apron.svg --grid 3x7 --first 5 --out labels.pdf",
	}
	a.deviceFlag(c, &device)
	a.draftFlags(c)
	fl := c.Flags()
	fl.StringVar(&f.Out, "out", "", "the PDF of labels")
	fl.StringVar(&f.Card, "card", "", "the PDF of the card")
	fl.StringVar(&f.Grid, "grid", "", "the sheet of labels (default 3x8, on Letter \"letter 3x10\")")
	fl.StringVar(&f.Roll, "roll", "", "a roll instead, by its width or the size of its labels: 62, 62x29, 2x1in")
	fl.StringVar(&f.Paper, "paper", "", "of the card: a4 or letter (default a4)")
	fl.IntVar(&f.First, "first", 1, "which label of the first sheet is the first free one")
	c.RunE = func(_ *cobra.Command, args []string) error { return a.labels(args, device, f) }
	return c
}

func (a *app) labels(args []string, device string, f labels.Flags) error {
	id, noJob := jobID(args[0])
	_, noFile := os.Stat(args[0])
	isJob := noJob == nil && noFile != nil && len(args) == 1
	drafts := args
	if isJob {
		drafts = nil
	}
	m, err := a.maker(a.err, device, drafts...)
	if err != nil {
		return err
	}
	rs, err := a.requests(drafts, device, "", f.Out, f.Card)
	if err != nil {
		return err
	}
	if isJob {
		r, err := reading.Draft(a.ctx, m.Room, id)
		if err != nil {
			return refused(err)
		}
		rs = append(rs, r)
	}
	files, found, err := m.Labels(a.ctx, rs, f)
	(&app{out: a.err}).printFindings(found)
	if errors.Is(err, making.ErrRefused) {
		return refused(err)
	} else if err != nil {
		return usage(err)
	}
	for _, p := range files {
		err = errors.Join(err, writeOut(p.File, p.Data))
	}
	return err
}

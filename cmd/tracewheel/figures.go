package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"tracewheel/pipeline/making"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/sheets"
)

func (a *app) figuresCmd() *cobra.Command {
	var out string
	c := &cobra.Command{
		Use:   "figures FILE",
		Short: "print a measured draft's numbers, finished girths, seam pairs and a chalking list",
		Long: "Figures lists what a measured draft comes to for one body: its numbers worked out, the length of each edge, finished girths against the body, seams walked, " +
			"and for each piece every point as across and down from the fold or edge, so that it can be chalked straight onto folded cloth.",
		Example: "  tracewheel figures ferry-smock.yaml\n  tracewheel figures ferry-smock.yaml --body chorus-4.yaml --out figures.html",
		Args:    cobra.ExactArgs(1),
	}
	a.draftFlags(c)
	c.Flags().StringVar(&out, "out", "", "a page that prints, .html")
	a.formatFlag(c)
	c.RunE = func(_ *cobra.Command, args []string) error { return a.figures(args[0], out) }
	return c
}

func (a *app) figures(file, out string) error {
	asJSON, err := a.asJSON()
	if err != nil {
		return err
	}
	m, err := a.maker(a.beside(asJSON || out != ""), "", file)
	if err != nil {
		return err
	}
	data, err := os.ReadFile(file)
	if err != nil {
		return refused(err)
	}
	form := "text"
	switch {
	case out != "" && strings.EqualFold(filepath.Ext(out), ".html"):
		form = "html"
	case asJSON:
		form = "json"
	}
	var b bytes.Buffer
	if err := m.Figures(&b, making.Request{Name: file, Source: data, Answers: map[string]string{"body": a.body}}, form); err != nil {
		return refused(err)
	}
	if out != "" {
		if err := writeOut(out, b.Bytes()); err != nil {
			return err
		}
		return nil
	}
	_, err = a.out.Write(b.Bytes())
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
	if form != ".svg" && form != ".dxf" && form != ".yaml" {
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
	if form == ".yaml" {
		whole, err := m.Whole(r.Source, r.Name)
		if err != nil {
			return refused(err)
		}
		return writeOut(out, whole)
	}
	data, w, err := m.Export(r, form)
	if err != nil {
		aside := &app{out: a.err}
		aside.printWork(file, w, m.Room.Units)
		if w.Hold != "" {
			return refused(errors.New("a question is open: " + w.Hold))
		}
		return refused(errors.New("the draft is refused; nothing was written"))
	}
	if err := writeOut(out, data); err != nil {
		return err
	}
	fmt.Fprintf(a.err, "%s: %s, %d bytes\n", out, pattern.Count(len(w.Pattern.Pieces), "piece"), len(data))
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
	f.StringVar(&w.Printer, "printer", "", "a sheet-printer of the workroom: its paper, corrected by what `square record` keeps of it")
	f.StringVar(&w.Margin, "margin", "", "what the printer leaves free at each edge (default what suits the paper)")
	f.StringVar(&w.Overlap, "overlap", "", "how wide a strip two sheets share (default 10 mm)")
	f.StringSliceVar(&w.Pieces, "pieces", nil, "only these pieces, by name (default all)")
	f.StringVar(&w.Patterns, "patterns", "once", "once: each piece is drawn once, with its count on it; every-copy: all copies")
	f.BoolVar(&w.Net, "net", false, "no seam allowance: the sew line is what is cut")
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
	var rs []making.Request
	bodies := a.body
	a.body = ""
	for _, f := range files {
		if same(f, out) {
			return usage(fmt.Errorf("%s is the draft itself; name another file with --out", out))
		}
		r, err := a.request(f, "", "")
		if err != nil {
			return err
		}
		rs = append(rs, making.ForBodies(r, bodies)...)
	}
	book, found, err := m.Sheets(a.ctx, rs, wish)
	aside := *a
	aside.out = a.err
	aside.printFindings(found)
	if err != nil {
		return refused(err)
	}
	if err := writeOut(out, book.PDF); err != nil {
		return err
	}
	for _, n := range book.Notes {
		fmt.Fprintf(a.err, "note: %s\n", n)
	}
	if wish.Projector {
		fmt.Fprintf(a.err, "%s: one page for a projector. Set the projector until the squares of the grid are 100 mm on the cloth.\n", out)
		return nil
	}
	fmt.Fprintf(a.err, "%s: %s of pattern and a first sheet with map and test squares. Print at 100 %%, the first sheet alone, and measure its squares.\n",
		out, pattern.Count(book.Sheets, "sheet"))
	return nil
}

package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"tracewheel/pipeline/making"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/report"
	"tracewheel/pipeline/terminal"
)

func (a *app) checkCmd() *cobra.Command {
	var device, out string
	c := &cobra.Command{
		Use:     "check FILE...",
		Short:   "say what is wrong with drafts, and what would mend it",
		Long:    "Check reads drafts and says what a careful cutter would say. Exit status 1 if anything is an error. With --device, a draft passes if `convert` makes it for that device; a question that only a person can answer lets it fail.\n\n" + report.RuleList(),
		Example: "  tracewheel check apron.svg\n  tracewheel check --device knife-table --format json *.dxf",
		Args:    cobra.MinimumNArgs(1),
	}
	a.deviceFlag(c, &device)
	a.draftFlags(c)
	a.formatFlag(c)
	c.Flags().StringVar(&out, "out", "", "the report on one draft, with its picture, .pdf")
	c.RunE = func(_ *cobra.Command, files []string) error { return a.check(files, device, out) }
	return c
}

func (a *app) check(files []string, device, out string) error {
	if out != "" && (len(files) > 1 || !strings.EqualFold(filepath.Ext(out), ".pdf")) {
		return usage(errors.New("--out is for the report on one draft, and its name ends in .pdf"))
	}
	asJSON, err := a.asJSON()
	if err != nil {
		return err
	}
	m, err := a.maker(a.beside(asJSON), device, files...)
	if err != nil {
		return err
	}
	if device != "" {
		if _, ok := m.Room.Devices[device]; !ok {
			return usage(m.Room.NoDevice(device))
		}
	}
	bad := false
	for _, file := range files {
		r, err := a.request(file, device, "")
		var w *making.Looked
		if err != nil {
			w = making.Unreadable(file, err)
		} else {
			w = m.Look(r)
		}
		bad = bad || !w.Passes()
		if out != "" {
			data, err := m.Report(w)
			if err == nil {
				err = writeOut(out, data)
			}
			if err != nil {
				return err
			}
		}
		if asJSON {
			if err := a.printJSON(w.Checked()); err != nil {
				return err
			}
			continue
		}
		a.printWork(file, w, m.Room.Units)
	}
	if bad {
		return refused(errSaid)
	}
	return nil
}

func (a *app) printWork(file string, w *making.Looked, unit string) {
	if w.Pattern != nil {
		unit = w.Pattern.ReadIn(unit)
	}
	fmt.Fprintf(terminal.Raw(a.out), "%s\n", a.colour("1", printable(file)))
	for _, p := range w.Checked().PiecesOrNone() {
		fmt.Fprintf(a.out, "  %s\n", printable(p.Line(unit)))
	}
	a.printFindings(w.Findings)
	if len(w.Findings) == 0 {
		fmt.Fprintln(a.out, "  no faults found")
	}
}

func (a *app) printFindings(fs []pattern.Finding) { report.Findings(terminal.Raw(a.out), fs, a.colour) }

func (a *app) convertCmd() *cobra.Command {
	var device, ticket, out string
	c := &cobra.Command{
		Use:     "convert FILE --device NAME",
		Short:   "write the plotter or cutter file without sending it",
		Example: "  tracewheel convert apron.svg --device roll-plotter --out apron.plt",
		Args:    cobra.ExactArgs(1),
	}
	a.deviceFlag(c, &device)
	a.draftFlags(c)
	c.Flags().StringVar(&ticket, "ticket", "", "the ticket file (default beside the draft: skirt.ticket.yaml or skirt.svg.ticket.yaml for skirt.svg)")
	c.Flags().StringVar(&out, "out", "", "where to write (default standard output)")
	a.patternsFlag(c)
	c.RunE = func(_ *cobra.Command, args []string) error {
		if device == "" {
			return usage(errors.New("convert needs --device; `tracewheel devices` lists them"))
		}
		return a.convert(args[0], device, ticket, out)
	}
	return c
}

func (a *app) convert(file, device, ticket, out string) error {
	w, err := a.make(file, device, ticket)
	if err != nil {
		return err
	}
	data := w.Program.Bytes()
	for _, n := range w.Notes {
		fmt.Fprintf(a.err, "note: %s\n", printable(n))
	}
	if out == "" {
		_, err := terminal.Raw(a.out).Write(data)
		return err
	}
	if same(file, out) {
		return usage(fmt.Errorf("%s is the draft itself; name another file with --out", out))
	}
	if err := writeOut(out, data); err != nil {
		return err
	}
	fmt.Fprintf(a.err, "%s: %s, %.2f m drawn, %d bytes, about %s\n", out, pattern.Count(w.Pieces(), "piece"),
		w.Program.DrawnMM/1000, len(data), pattern.Minutes(w.Program.Seconds))
	return nil
}

// make takes one file as far as bytes, or prints why not.
func (a *app) make(file, device, ticket string) (*making.Work, error) {
	m, err := a.maker(a.err, device, file)
	if err != nil {
		return nil, err
	}
	r, err := a.request(file, device, ticket)
	if err != nil {
		return nil, err
	}
	if err := making.OverrulePatterns(&r, m.Room, a.patterns); err != nil {
		return nil, usage(err)
	}
	w, err := m.Make(a.ctx, r)
	if err != nil {
		return nil, usage(err)
	}
	if w.Refused || w.Hold != "" {
		return nil, a.nothingWritten(file, &w.Looked, m.Room.Units)
	}
	return w, nil
}

// nothingWritten prints why a draft is refused or what it asks, and is the error that says so.
func (a *app) nothingWritten(file string, w *making.Looked, unit string) error {
	(&app{out: a.err}).printWork(file, w, unit)
	if w.Hold != "" {
		return refused(errors.New("a question is open: " + w.Hold))
	}
	return refused(errors.New("the draft is refused; nothing was written"))
}

func same(a, b string) bool {
	x, err1 := os.Stat(a)
	y, err2 := os.Stat(b)
	return err1 == nil && err2 == nil && os.SameFile(x, y)
}

func (a *app) pictureCmd() *cobra.Command {
	var device, out, ticket string
	var asCut, points bool
	c := &cobra.Command{
		Use:     "picture FILE --out FILE.svg|FILE.png",
		Short:   "make a picture of the draft with its faults marked",
		Long:    "Picture draws a draft's pieces with their findings; with --device, what that device would make of it. Of an HP-GL or G-code file, from here or elsewhere, it draws what a machine would, and says what is wrong with it; with --device by that device's limits.",
		Example: "  tracewheel picture apron.svg --out apron.png\n  tracewheel picture apron.svg --device knife-table --as-cut --out cut.svg\n  tracewheel picture plot.hpgl --out plot.png\n  tracewheel picture job.nc --device knife-table --as-cut --out cut.svg",
		Args:    cobra.ExactArgs(1),
	}
	a.deviceFlag(c, &device)
	a.draftFlags(c)
	c.Flags().StringVar(&out, "out", "", "the picture, .svg or .png")
	c.Flags().StringVar(&ticket, "ticket", "", "the ticket file (default beside the draft, as for convert)")
	c.Flags().BoolVar(&asCut, "as-cut", false, "what a simulated blade cuts (drag-knife devices)")
	a.patternsFlag(c)
	c.Flags().BoolVar(&points, "points", false, "show a measured draft's lettered points")
	c.RunE = func(_ *cobra.Command, args []string) error {
		return a.picture(args[0], device, ticket, out, asCut, points)
	}
	return c
}

func (a *app) picture(file, device, ticket, out string, asCut, points bool) error {
	ext := strings.ToLower(filepath.Ext(out))
	if ext != ".svg" && ext != ".png" {
		return usage(errors.New("picture needs --out with a name that ends in .svg or .png"))
	}
	if asCut && device == "" {
		return usage(errors.New("--as-cut needs --device with a knife"))
	}
	m, err := a.maker(a.err, device, file)
	if err != nil {
		return err
	}
	r, err := a.request(file, device, ticket)
	if err != nil {
		return err
	}
	if err := making.OverrulePatterns(&r, m.Room, a.patterns); err != nil {
		return usage(err)
	}
	c, w, err := m.Picture(a.ctx, r, asCut, points)
	if err != nil {
		if w != nil {
			a.printFindings(w.Findings)
		}
		return refused(err)
	}
	var data []byte
	if ext == ".svg" {
		data = c.SVG()
	} else if data, err = c.PNG(1600); err != nil {
		return refused(err)
	}
	if err := a.wrote(out, data, "a picture"); err != nil {
		return err
	}
	if w != nil {
		a.printFindings(w.Findings)
	}
	return nil
}

package main

import (
	"cmp"
	"fmt"

	"github.com/spf13/cobra"

	"tracewheel/devices"
	"tracewheel/pipeline/cloths"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/reading"
	"tracewheel/pipeline/terminal"
)

func (a *app) layCmd() *cobra.Command {
	var f cloths.Flags
	c := &cobra.Command{
		Use:     "lay FILE... [--width W]",
		Short:   "lay pieces on cloth and say how much of it to buy",
		Long:    cloths.Long,
		Example: "  tracewheel lay apron.svg --width 140cm\n  tracewheel lay smock.yaml --bodies A,B --fold once --out lay.svg\n  tracewheel lay apron.svg --width 55in --length 60in --seconds 20\n  tracewheel lay apron.svg --width 1400 --steps 5000 --seed 1 --format json",
		Args:    cobra.MinimumNArgs(1),
	}
	fl := c.Flags()
	fl.StringVar(&f.Width, "width", "", "the cloth's width (default: the draft's)")
	fl.StringVar(&f.Length, "length", "", "the length at hand (default: a roll)")
	fl.StringVar(&f.Material, "material", "", "lay on this material of the workroom, whatever the drafts say")
	fl.Int64Var(&f.Remnant, "remnant", 0, "lay on the remnant of this number (tracewheel stock lists them)")
	fl.StringVar(&f.Gap, "gap", "0", "kept between pieces")
	fl.StringVar(&f.Margin, "margin", "0", "kept free at every side")
	fl.StringVar(&f.Fold, "fold", "", "once, two (both selvedges to the middle), part or none (default: whichever takes least)")
	fl.StringVar(&f.Nap, "nap", "", "all: every piece one way; garment: those of one garment; none (default: the draft's)")
	fl.StringVar(&f.Turns, "turns", "", "degrees to try, as 0,180, counter-clockwise from how the draft shows a piece; overrules grain and nap")
	fl.Float64Var(&f.Seconds, "seconds", 5, "how long to search")
	fl.IntVar(&f.Steps, "steps", 0, "search so many steps instead, the same each time")
	fl.Uint64Var(&f.Seed, "seed", 1, "where the search begins")
	fl.StringVar(&f.Bodies, "bodies", "", "of a measured draft: several of its bodies, as A,B")
	fl.StringVar(&f.Out, "out", "", "a picture of the lay, .svg or .png; of several cloths the others get their names added")
	a.patternsFlag(c)
	a.draftFlags(c)
	a.formatFlag(c)
	c.RunE = func(_ *cobra.Command, files []string) error { return a.lay(files, f) }
	return c
}

func (a *app) lay(files []string, f cloths.Flags) error {
	asJSON, err := a.asJSON()
	if err != nil {
		return err
	}
	f.Patterns = a.patterns
	wish, err := f.Read()
	if err != nil {
		return usage(err)
	}
	m, err := a.maker(a.beside(asJSON), "", files...)
	if err != nil {
		return err
	}
	rs, err := a.requests(files, "", f.Bodies, f.Out)
	if err != nil {
		return err
	}
	if rs[0].Remnants, err = reading.Remnants(a.ctx, m.Room); err != nil {
		fmt.Fprintf(a.err, "caution: what is kept in stock cannot be read, so no remnant is named: %s\n", printable(err.Error()))
	}
	wish.Progress = cloths.TellProgress(a.err)
	l, err := m.LayFiles(a.ctx, rs, wish)
	(&app{out: a.beside(asJSON)}).printFindings(l.Findings)
	pictures, perr := l.Pictures(f.Out)
	for _, p := range pictures {
		if err := writeOut(p.File, p.Data); err != nil {
			return err
		}
		if len(l.Short) > 0 {
			fmt.Fprintf(a.err, "%s shows the lay and where the cloth ends\n", printable(p.File))
		}
	}
	if err = cmp.Or(err, perr); err != nil {
		return refused(err)
	}
	if asJSON {
		return l.WriteJSON(terminal.Escaped{To: a.out})
	}
	l.WriteText(a.out)
	return nil
}

// requests are the drafts, each for every body that is named; none may be a file that is written.
func (a *app) requests(files []string, device, bodies string, written ...string) (rs []making.Request, err error) {
	for _, f := range files {
		for _, w := range written {
			if same(f, w) {
				return nil, usage(fmt.Errorf("%s is the draft itself; name another file with --out", w))
			}
		}
		r, err := a.request(f, device, "")
		if err != nil {
			return nil, err
		}
		rs = append(rs, making.ForBodies(r, bodies)...)
	}
	return rs, nil
}

// patternsFlag adds --patterns, which overrules how often a pen plotter draws a piece.
func (a *app) patternsFlag(c *cobra.Command) {
	c.Flags().StringVar(&a.patterns, "patterns", "", "once: each piece once with its count on it, one on the fold as its half; every-copy: all of them, opened out (default: the device's)")
	_ = c.RegisterFlagCompletionFunc("patterns", cobra.FixedCompletions(devices.PatternWords(), cobra.ShellCompDirectiveNoFileComp))
}

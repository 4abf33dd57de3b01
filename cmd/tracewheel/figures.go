package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"
)

func (a *app) figuresCmd() *cobra.Command {
	var out string
	c := &cobra.Command{
		Use:   "figures FILE",
		Short: "a measured draft's numbers, girths, seam pairs, and a list to chalk it from",
		Long: "Figures lists what a measured draft comes to for one body: the derived numbers, the length of each edge, finished girths against the body, seams walked, " +
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
	h, err := a.house(a.beside(asJSON || out != ""), "", file)
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
	if err := h.Figures(&b, data, file, a.body, form); err != nil {
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

package main

import (
	"github.com/spf13/cobra"

	"tracewheel/pipeline/making"
)

// patternsFlag adds --patterns, which overrules how often a pen plotter draws a piece.
func (a *app) patternsFlag(c *cobra.Command) {
	c.Flags().StringVar(&a.patterns, "patterns", "", "once: each piece once with its count on it, one on the fold as its half; every-copy: all of them, opened out (default: the device's)")
	_ = c.RegisterFlagCompletionFunc("patterns", cobra.FixedCompletions(making.PatternWords(), cobra.ShellCompDirectiveNoFileComp))
}

package main

import (
	"errors"
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/pipeline/making"
)

// patternsFlag adds --patterns, which overrules how often a pen plotter draws a piece.
func (a *app) patternsFlag(c *cobra.Command) {
	c.Flags().StringVar(&a.patterns, "patterns", "", "once: each piece once with its count on it, one on the fold as its half; every-copy: all of them, opened out (default: the device's)")
	_ = c.RegisterFlagCompletionFunc("patterns", cobra.FixedCompletions(patternWords(), cobra.ShellCompDirectiveNoFileComp))
}

func patternWords() []string {
	return []string{string(devices.PatternsOnce), string(devices.PatternsEveryCopy)}
}

// answerPatterns hands --patterns over with a draft.
func (a *app) answerPatterns(r *making.Request, room *config.Workroom) error {
	switch d, ok := room.Devices[r.Device]; {
	case a.patterns == "":
		return nil
	case !slices.Contains(patternWords(), a.patterns):
		return usage(fmt.Errorf("--patterns is once or every-copy, not %q", a.patterns))
	case r.Device == "":
		return usage(errors.New("--patterns needs --device: without one the draft is shown as it is drawn"))
	case ok && d.Kind.Cuts() && a.patterns == string(devices.PatternsOnce):
		return usage(fmt.Errorf("%s is a cutter and cuts every copy; --patterns once is for pens", r.Device))
	}
	if r.Answers == nil {
		r.Answers = map[string]string{}
	}
	r.Answers[making.AnswerPatterns] = a.patterns
	return nil
}

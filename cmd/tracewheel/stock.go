package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"tracewheel/config"
	"tracewheel/pipeline/control/remote"
	"tracewheel/pipeline/reading"
	"tracewheel/pipeline/stock"
)

func (a *app) stockCmd() *cobra.Command {
	var history bool
	c := &cobra.Command{
		Use: "stock", Short: "list rolls and remnants, and say what is added or measured", Args: cobra.NoArgs, Long: stock.Long,
		Example: "  tracewheel stock --history\n  tracewheel stock add calico 12m\n  tracewheel stock correct calico 350cm --remnant 3",
	}
	a.formatFlag(c)
	c.Flags().BoolVar(&history, "history", false, "with what was said and booked of each")
	c.RunE = func(*cobra.Command, []string) error { return a.stock(history) }
	c.AddCommand(a.toStockCmd("add MATERIAL LENGTH", "add a length to a roll, or a new remnant", "  tracewheel stock add calico 12m\n  tracewheel stock add calico 140cm --width 62cm --remnant", false),
		a.toStockCmd("correct MATERIAL LENGTH", "say how much is left of a roll or a remnant, 0 for nothing", "  tracewheel stock correct calico 350cm\n  tracewheel stock correct calico 0 --remnant 3", true))
	return c
}

func (a *app) stock(history bool) error {
	asJSON, err := a.asJSON()
	if err != nil {
		return err
	}
	return a.named(asJSON, func(led reading.Reader) error {
		all := []stock.Kept{}
		if led != nil {
			if all, err = stock.Of(a.ctx, led, 0); err != nil {
				return refused(err)
			}
		}
		if asJSON {
			return a.printJSON(all)
		}
		room, _ := a.whereabouts()
		return stock.Table(a.out, all, room.Units, history)
	})
}

func (a *app) toStockCmd(use, short, example string, correct bool) *cobra.Command {
	s := stock.Said{Correct: correct}
	c := &cobra.Command{Use: use, Short: short, Example: example, Args: cobra.ExactArgs(2)}
	c.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return usage(stock.NoFlag(err)) })
	if correct {
		c.Flags().StringVar(&s.Remnant, "remnant", "", "the number of a remnant; otherwise the roll")
	} else {
		c.Flags().StringVar(&s.Width, "width", "", "how wide it is (default: the workroom file's)")
		c.Flags().BoolVar(&s.New, "remnant", false, "a remnant of its own, not more of the roll")
	}
	c.Flags().StringVar(&a.who, "who", "", "who says it, beside the login name")
	c.ValidArgsFunction = cobra.NoFileCompletions
	c.RunE = func(c *cobra.Command, args []string) error {
		s.Material, s.Length = args[0], args[1]
		if c.Flags().Changed("remnant") && correct && s.Remnant == "" {
			return usage(fmt.Errorf("--remnant: say the number of a remnant"))
		}
		return a.daemon(func(client *remote.Client, room *config.Workroom) error {
			w, err := s.Read(room)
			if err != nil {
				return usage(err)
			}
			is, err := client.ToStock(a.ctx, w)
			if err == nil {
				a.done("%s", stock.Taken(is, w, room.Units))
			}
			return err
		})
	}
	return c
}

// Tracewheel carries garment drafts, true to size, onto paper and cloth: from a watched folder to a
// pen plotter or a drag-knife cutter.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"

	"github.com/spf13/cobra"

	"tracewheel/pipeline/pages"
	"tracewheel/pipeline/terminal"
)

func main() { os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }

// run is main without the process around it, so that tests can call it.
func run(args []string, in io.Reader, out, errOut io.Writer) int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	if len(args) == 0 && pages.WithoutTerminal() {
		args = []string{"desk"}
	}
	cobra.MousetrapHelpText = "" // a double click opens the desk
	out, errOut = terminal.Screen{To: out}, terminal.Screen{To: errOut}
	a := &app{in: in, out: out, err: errOut, ctx: ctx}
	cmd := a.root()
	a.complete(cmd)
	cmd.SetArgs(args)
	cmd.SetIn(in)
	cmd.SetOut(out)
	cmd.SetErr(errOut)
	verb, err := cmd.ExecuteContextC(ctx)
	if err == nil {
		return 0
	}
	a.say(err)
	var f *failure
	if errors.As(err, &f) {
		return f.status
	}
	// The command line itself was not understood.
	fmt.Fprintf(errOut, "usage: %s (more by %s --help)\n", verb.UseLine(), verb.CommandPath())
	return exitUsage
}

const rootLong = `Tracewheel carries garment drafts, true to size, onto paper and cloth.

Drop an SVG, DXF or measured draft into the folder of a device. It is checked for closed
outlines, seam allowance and notches, completed, laid out, and drawn by a pen plotter or cut by a
drag knife - or it is refused, with a page that shows what would have spoiled the cloth.

Exit status: 0 done; 1 the draft or the job is refused, or something failed; 2 wrong usage or configuration.`

func (a *app) root() *cobra.Command {
	root := &cobra.Command{
		Use:   "tracewheel",
		Short: "garment drafts, true to size, onto paper and cloth",
		Long:  rootLong,
		Example: "  tracewheel demo\n" +
			"  tracewheel new workroom && cd workroom && tracewheel run",
		SilenceUsage: true, SilenceErrors: true, Version: version(),
	}
	root.SetVersionTemplate("{{.Name}} {{.Version}}\n")
	root.PersistentFlags().StringVar(&a.configFile, "config", "",
		"the workroom file (default the nearest workroom.yaml at or above the draft's folder, then the current one, then the user's)")
	root.AddGroup(&cobra.Group{ID: "start", Title: "To begin with:"},
		&cobra.Group{ID: "file", Title: "With a draft file (no workroom needed):"},
		&cobra.Group{ID: "job", Title: "With jobs:"},
		&cobra.Group{ID: "machine", Title: "With machines:"})
	add := func(group string, cmds ...*cobra.Command) {
		for _, c := range cmds {
			c.GroupID = group
			root.AddCommand(c)
		}
	}
	add("start", a.demoCmd(), a.newCmd(), a.runCmd(), a.pageCmd(), a.deskCmd())
	add("file", a.checkCmd(), a.convertCmd(), a.exportCmd(), a.pictureCmd(), a.figuresCmd(), a.layCmd(), a.sheetsCmd(), a.labelsCmd())
	add("job", a.jobsCmd(), a.showCmd(), a.waitCmd(), a.holdCmd(), a.nextCmd(), a.releaseCmd(), a.betterCmd(), a.cancelCmd(), a.pauseCmd(),
		a.resumeCmd(), a.dryCmd(), a.boundsCmd(), a.againCmd(), a.sheetCmd(true), a.sheetCmd(false), a.verifyCmd(),
		a.backupCmd(), a.restoreCmd(), a.forgetCmd())
	add("machine", a.devicesCmd(), a.squareCmd(), a.stockCmd())
	return root
}

package machines

import (
	"fmt"
	"io"
	"text/tabwriter"

	"tracewheel/pipeline/pattern"
)

// WriteTable prints the devices for people, a line each; unit is the workroom's.
func WriteTable(w io.Writer, list []State, unit string) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "DEVICE\tKIND\tPORT\tSTATE\tREACH\tCALIBRATION")
	for _, d := range list {
		if d.Paper != "" {
			d.Calibration += " on " + d.Paper
		}
		state := d.State
		if d.Detail != "" {
			state += ": " + d.Detail
		}
		if d.NeedsCalibration {
			d.Calibration += ", needs calibration"
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%s\n", d.Name, d.Kind, d.Port, pattern.Printable(state), d.Reach(unit), d.Calibration)
	}
	return t.Flush()
}

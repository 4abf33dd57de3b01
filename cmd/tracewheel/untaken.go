package main

import (
	"fmt"
	"slices"
	"text/tabwriter"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
)

// untakenTable tells what lies in the inbox and becomes no job; nothing where there is none.
func (a *app) untakenTable(list []ledger.Untaken) error {
	if len(list) == 0 {
		return nil
	}
	fmt.Fprintln(a.out, "in the inbox, and not taken:")
	t := tabwriter.NewWriter(a.out, 0, 0, 2, ' ', 0)
	for _, u := range list {
		at := pattern.Short(u.File)
		if u.Device != "" {
			at = pattern.Short(u.Device) + "/" + at
		}
		fmt.Fprintf(t, "  %s\t%s\n", at, printable(u.Why))
	}
	return t.Flush()
}

// ofDevice picks what lies in a device's folder, all for "".
func ofDevice(list []ledger.Untaken, device string) []ledger.Untaken {
	return slices.DeleteFunc(slices.Clone(list), func(u ledger.Untaken) bool { return device != "" && u.Device != device })
}

// withUntaken is the list of jobs and, in its form but without a number, what became none.
func withUntaken(jobs []ledger.Job, untaken []ledger.Untaken) []any {
	list := make([]any, 0, len(jobs)+len(untaken))
	for _, j := range jobs {
		list = append(list, j)
	}
	for _, u := range untaken {
		list = append(list, u)
	}
	return list
}

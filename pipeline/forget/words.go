package forget

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"tracewheel/pipeline/pattern"
)

// Tell writes what Forget would remove and, where nothing stands against it, how that is said.
func Tell(w io.Writer, card string, jobs []int64, free bool) {
	with := " and what was made for it: "
	if len(jobs) == 0 {
		with = "; "
	}
	fmt.Fprintf(w, "this would remove the measures of %s%s%s\n", shown(card), with, jobsSaid(jobs))
	if free {
		fmt.Fprintf(w, "Nothing is removed yet. Stop the daemon, then: tracewheel forget %s --for-good\n", shown(card))
	}
}

// Tell writes what was forgotten, and what stays for a person to see to.
func (d Done) Tell(w io.Writer, card string) {
	fmt.Fprintf(w, "%s is forgotten: %s\n", shown(card), jobsSaid(d.Jobs))
	for _, draft := range d.Drafts {
		fmt.Fprintf(w, "caution: the draft %s names the card or its wearer and stays; see whether measures stand in it\n", shown(draft))
	}
	for _, l := range d.Ledgers {
		fmt.Fprintf(w, "caution: %s is an old ledger that was set aside; remove it if it is not needed\n", shown(l))
	}
	for _, m := range d.Copies {
		fmt.Fprintf(w, "caution: the copy of %s may hold it still: %s\n", m.At.Local().Format("2006-01-02 15:04"), shown(m.File))
	}
	if d.Unread > 0 {
		fmt.Fprintf(w, "caution: %s in the list of copies cannot be read; look for other copies yourself\n", pattern.Count(d.Unread, "line"))
	}
}

// shown is a name as it is, or quoted with escapes where it holds what does not print, or a blank.
func shown(name string) string {
	if pattern.Printable(name) != name || strings.Contains(name, " ") {
		return strconv.Quote(name)
	}
	return name
}

func jobsSaid(jobs []int64) string {
	if len(jobs) == 0 {
		return "no job was made for it"
	}
	text := "job"
	if len(jobs) > 1 {
		text = "jobs"
	}
	for i, id := range jobs {
		switch {
		case i > 0 && i == len(jobs)-1:
			text += " and"
		case i > 0:
			text += ","
		}
		text += fmt.Sprintf(" %d", id)
	}
	return text
}

package main

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/jobtext"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/namedfiles"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/terminal"
)

// app is what every verb needs: where to read and write, and the workroom.
type app struct {
	in       io.Reader
	out, err io.Writer
	ctx      context.Context

	// typed is what a person types, through one buffer.
	typed *bufio.Reader

	configFile string
	format     string
	body       string
	toile      bool
	patterns   string
	sample     bool
	who        string

	// loaded is the workroom file that was read last, so that a verb that asks for it again neither reads it
	// nor tells its notes again.
	loaded *config.Workroom

	ticketsLooked []string // folders that were looked through for tickets of nothing
}

// errNoRoom is for verbs that cannot do without a workroom file.
var errNoRoom = errors.New("there is no workroom.yaml here; `tracewheel new DIR` writes one, --config names another")

// roomFile is which workroom file counts, "" where there is none; drafts are the files worked on.
func (a *app) roomFile(drafts ...string) (string, error) {
	if a.configFile != "" {
		return a.configFile, nil
	}
	file, err := config.Find(drafts...)
	if err != nil {
		return "", usage(err)
	}
	return file, nil
}

// room loads the workroom file; for verbs that only look at drafts or devices the sample stands in where
// there is none.
func (a *app) room(sampleWill bool, drafts ...string) (*config.Workroom, error) {
	file, err := a.roomFile(drafts...)
	switch {
	case a.sample && a.configFile != "":
		return nil, usage(errors.New("--sample and --config name two workrooms; leave one of them out"))
	case a.sample:
		return making.Sample(), nil
	case err != nil:
		return nil, err
	case file == "" && sampleWill:
		return making.Sample(), nil
	case file == "":
		return nil, usage(errNoRoom)
	case a.loaded != nil && a.loaded.File == file:
		return a.loaded, nil
	}
	w, err := config.Load(file, pattern.RuleNames())
	if err != nil {
		return nil, usage(err)
	}
	for _, old := range w.Notes {
		fmt.Fprintf(a.err, "note: %s\n", printable(old))
	}
	a.loaded = w
	return w, nil
}

// maker is the maker of jobs, for single files. It names the workroom first: on out where people
// read that, else on standard error, so that what programs read stays pure.
func (a *app) maker(out io.Writer, device string, drafts ...string) (*making.Maker, error) {
	room, err := a.room(true, drafts...)
	if err != nil {
		return nil, err
	}
	if d, ok := room.Devices[device]; ok && room.File == "" && !a.sample && d.Kind != devices.PenPlotter {
		return nil, usage(fmt.Errorf("there is no workroom file, and %s of the sample is no machine of yours: another blade offset, depth and bed; name your workroom with --config, or try the sample's with --sample", device))
	}
	nameRoom(out, room)
	return making.New(room), nil
}

// nameRoom says which workroom was used.
func nameRoom(out io.Writer, room *config.Workroom) {
	if room.File == "" {
		fmt.Fprintln(out, "workroom: none found, so the sample's devices and habits are used")
		return
	}
	file, err := filepath.Abs(room.File)
	if err != nil {
		file = room.File
	}
	fmt.Fprintf(out, "workroom: %s\n", printable(file))
}

// beside is where the workroom is named: beside a JSON line, never in it.
func (a *app) beside(asJSON bool) io.Writer {
	if asJSON {
		return a.err
	}
	return a.out
}

// request reads a draft and, where one is named or lies beside it, its ticket.
func (a *app) request(file, device, ticket string) (making.Request, error) {
	r := making.Request{Name: file, Device: device}
	var err error
	if r.Source, err = namedfiles.Draft(file); err != nil {
		return r, refused(err)
	}
	a.tellStrayTickets(file)
	if r.Ticket, err = namedfiles.Ticket(file, ticket); err != nil {
		return r, refused(err)
	}
	r.Answers = map[string]string{}
	if a.body != "" {
		r.Answers["body"] = a.body
	}
	if a.toile {
		r.Answers[making.AnswerToile] = "true"
	}
	return r, nil
}

// tellStrayTickets tells, once for a folder, of what beside a draft looks like a ticket and belongs to nothing.
func (a *app) tellStrayTickets(file string) {
	dir := filepath.Dir(file)
	if slices.Contains(a.ticketsLooked, dir) {
		return
	}
	a.ticketsLooked = append(a.ticketsLooked, dir)
	names := namedfiles.TicketNames(printable(filepath.Base(file)))
	for _, stray := range namedfiles.StrayTickets(file) {
		fmt.Fprintf(a.err, "note: %s is the ticket of no file here, so nothing uses it; the ticket of %s is called %s or %s\n",
			printable(stray), printable(filepath.Base(file)), names[0], names[2])
	}
}

// draftFlags adds --body, for which of its bodies a measured draft is drawn, and --sample.
func (a *app) draftFlags(c *cobra.Command) {
	c.Flags().BoolVar(&a.sample, "sample", false, "use the sample workroom, its cutter too")
	c.Flags().StringVar(&a.body, "body", "", "of a measured draft: one of its bodies, or a measure card beside it")
}

func (a *app) formatFlag(c *cobra.Command) {
	c.Flags().StringVar(&a.format, "format", "text", "text or json")
	_ = c.RegisterFlagCompletionFunc("format", cobra.FixedCompletions([]string{"text", "json"}, cobra.ShellCompDirectiveNoFileComp))
}

func (a *app) asJSON() (bool, error) {
	switch a.format {
	case "json":
		return true, nil
	case "text", "":
		return false, nil
	}
	return false, usage(fmt.Errorf("--format is text or json, not %q", a.format))
}

// printJSON writes one value on one line.
func (a *app) printJSON(v any) error {
	enc := json.NewEncoder(terminal.Escaped{To: a.out})
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}

// colour wraps words in a colour, on a terminal only.
func (a *app) colour(code, words string) string {
	f, ok := terminal.Raw(a.out).(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) || os.Getenv("NO_COLOR") != "" {
		return words
	}
	return "\x1b[" + code + "m" + words + "\x1b[0m"
}

// printable keeps a name from playing with the terminal.
func printable(s string) string { return pattern.Printable(s) }

// The exit statuses: 0 done; 1 the draft or the job is refused, or failed; 2 wrong usage or
// configuration.
const (
	exitRefused = 1
	exitUsage   = 2
)

// failure is an error with its exit status. An empty text prints nothing: all was said already.
type failure struct {
	status int
	err    error
}

func (f *failure) Error() string { return f.err.Error() }
func (f *failure) Unwrap() error { return f.err }

var errSaid = errors.New("")

func refused(err error) error { return &failure{exitRefused, err} }
func usage(err error) error   { return &failure{exitUsage, err} }

// refusedIf is refused of what may be no error.
func refusedIf(err error) error {
	if err == nil {
		return nil
	}
	return refused(err)
}

// say prints an error once, each fault on its own line, and a hint where there is one.
func (a *app) say(err error) {
	text := jobtext.Fault(err)
	if text == "" {
		return
	}
	for _, line := range strings.Split(strings.TrimRight(text, "\n"), "\n") {
		fmt.Fprintf(a.err, "tracewheel: %s\n", line)
	}
	var r *control.Refusal
	if errors.As(err, &r) {
		for _, p := range r.Points {
			fmt.Fprintf(a.err, "  --from %-7s %s\n", p.From, p.Text)
		}
		if r.Hint != "" && !strings.Contains(text, r.Hint) {
			fmt.Fprintf(a.err, "hint: %s\n", r.Hint)
		}
	}
}

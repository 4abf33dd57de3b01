package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"syscall"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"tracewheel/devices"
	"tracewheel/devices/pretend"
)

// pretendLimit ends a pretend machine that a script left behind.
const pretendLimit = 10 * time.Minute

// machine is a pretend machine as the scripts' program `pretend` runs it.
type machine interface {
	Path() string
	Received() []byte
	Release()
	Paused() bool
	StopReceived() time.Time
	Close()
}

// pretendMain is `pretend cutter|plotter LINK [PAUSE] [FAULT]` for scripts: a machine on a pseudo-terminal
// to which LINK leads, until it is interrupted. It stands still after PAUSE bytes, as a machine in a very
// long move, until there is a file LINK.go or it is told to stop. FAULT is silent-at-end, line-error or
// lost-xon, see pretend.Faults. LINK.state tells at every moment how it is, LINK.got what it
// has carried out.
func pretendMain() {
	if err := runPretend(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func runPretend(args []string) error {
	if len(args) < 2 {
		return errors.New("usage: pretend cutter|plotter LINK [PAUSE] [FAULT]")
	}
	link, err := pretend.NewPty()
	if err != nil {
		return err
	}
	var f pretend.Faults
	rate, level := 20000.0, 0
	for _, arg := range args[2:] {
		switch arg {
		case "silent-at-end":
			f.SilentAtEnd = true
		case "line-error":
			f.LineError = 15
		case "lost-xon": // it draws slower than bytes come, and says stop late
			f.LostXON, rate, level = 1, 300, 81
		default:
			if f.PauseAfter, err = strconv.Atoi(arg); err != nil {
				return err
			}
		}
	}
	var m machine
	state := func() string { return "on" }
	if args[0] == "cutter" {
		c := pretend.NewCutter(link, pretend.CutterOptions{Rate: 20000, Faults: f, Truth: true})
		m, state = c, func() string { return fmt.Sprintf("%s, tool up: %t", c.State(), c.ToolUp()) }
	} else {
		m = pretend.NewPlotter(link, pretend.PlotterOptions{Flow: devices.FlowXonXoff, Rate: rate, Level: level, Faults: f})
	}
	defer m.Close()
	at := args[1]
	defer os.Remove(at + ".state") //nolint:errcheck // the next one writes its own
	if err := os.Remove(at); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	if err := os.Symlink(m.Path(), at); err != nil {
		return err
	}
	// The terminal's number is soon another test's: a daemon that waits for this machine must not find that one.
	defer os.Remove(at) //nolint:errcheck // it may be another machine's by then
	end := make(chan os.Signal, 1)
	signal.Notify(end, os.Interrupt, syscall.SIGTERM)
	limit := time.After(pretendLimit)
	for {
		now := state()
		if m.Paused() {
			now += ", stands"
		}
		if err := errors.Join(replace(at+".state", []byte(now+"\n")), replace(at+".got", m.Received())); err != nil {
			return err
		}
		if _, err := os.Stat(at + ".go"); err == nil || !m.StopReceived().IsZero() {
			m.Release()
		}
		select {
		case <-end:
			return nil
		case <-limit:
			return errors.New("nobody ended this machine")
		case <-time.After(20 * time.Millisecond):
		}
	}
}

// replace writes a file so that a reader sees it whole.
func replace(name string, data []byte) error {
	if err := os.WriteFile(name+".new", data, 0o644); err != nil {
		return err
	}
	return os.Rename(name+".new", name)
}

// scriptLimit is how long a script waits for what must come; it is no measure of speed.
const scriptLimit = 2 * time.Minute

// until is a script's command `until PATTERN PROGRAM ARGS...`: it runs the program again and again until
// what it prints matches.
func until(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: until PATTERN PROGRAM ARGS...")
	}
	re, err := regexp.Compile("(?m)" + args[0])
	ts.Check(err)
	for end := time.Now().Add(scriptLimit); ; time.Sleep(50 * time.Millisecond) {
		out := quietly(ts, args[1:])
		if re.MatchString(out) {
			return
		} else if time.Now().After(end) {
			ts.Fatalf("never %q; last was\n%s", args[0], out)
		}
	}
}

// quietly runs a program as exec does, but without a word in the script's log.
func quietly(ts *testscript.TestScript, args []string) string {
	name := args[0]
	for _, dir := range filepath.SplitList(ts.Getenv("PATH")) {
		if _, err := os.Stat(filepath.Join(dir, name)); err == nil {
			name = filepath.Join(dir, name)
			break
		}
	}
	c := exec.Command(name, args[1:]...)
	c.Dir = ts.MkAbs(".")
	c.Env = append(os.Environ(), "HOME="+ts.Getenv("HOME"), "XDG_CONFIG_HOME="+ts.Getenv("XDG_CONFIG_HOME"))
	out, _ := c.CombinedOutput() // it may fail until the daemon listens
	return string(out)
}

// room is a script's command `room DIR DEVICE=PORT[,asked]...`: a new workroom whose devices have these
// ports, and the others none that exists. The roll plotter may be asked by device control.
func room(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 1 {
		ts.Fatalf("usage: room DIR DEVICE=PORT...")
	}
	ts.Check(ts.Exec("tracewheel", "new", args[0]))
	file := ts.MkAbs(filepath.Join(args[0], "workroom.yaml"))
	text, err := os.ReadFile(file)
	ts.Check(err)
	was := map[string]string{"roll-plotter": "/dev/ttyUSB0", "desk-plotter": "/dev/ttyUSB1", "knife-table": "/dev/ttyACM0"}
	out := strings.Replace(string(text), "kind: drag-knife\n", "kind: drag-knife\n    lay_wait: 0\n", 1)
	out = strings.Replace(out, "start_wait: 2}", "planner: 15}", 1) // as many lines as the pretend cutter
	for _, arg := range args[1:] {
		device, port, _ := strings.Cut(arg, "=")
		if device == "pen-table" { // which the sample has not
			out = strings.Replace(out, "\ndevices:\n", "\ndevices:\n  pen-table: {kind: pen-gantry, language: gcode, material: paper, width: 1000, length: 1600, port: {path: "+ts.MkAbs(port)+"}}\n", 1)
			continue
		}
		port, asked := strings.CutSuffix(port, ",asked")
		if asked {
			out = strings.Replace(out, "serial_control: false", "serial_control: true", 1)
		}
		out = regexp.MustCompile(regexp.QuoteMeta(was[device])+`\b`).ReplaceAllLiteralString(out, ts.MkAbs(port))
	}
	out = regexp.MustCompile(`/dev/tty`).ReplaceAllLiteralString(out, "/dev/no-such-tty")
	ts.Check(os.WriteFile(file, []byte(out), 0o644))
}

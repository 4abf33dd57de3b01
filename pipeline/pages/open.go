package pages

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"runtime"

	"github.com/inconshreveable/mousetrap"
	"golang.org/x/term"
)

// openers are the programs that open an address in the browser of a person's choice, by system.
var openers = map[string][][]string{
	"windows": {{"rundll32", "url.dll,FileProtocolHandler"}},
	"darwin":  {{"open"}},
	"":        {{"xdg-open"}, {"gio", "open"}, {"sensible-browser"}},
}

// Open asks the system's browser for an address. The error says why no browser opened it.
func Open(ctx context.Context, address string) error {
	list, ok := openers[runtime.GOOS]
	if !ok {
		list = openers[""]
	}
	var why []error
	for _, o := range list {
		if _, err := exec.LookPath(o[0]); err != nil {
			why = append(why, fmt.Errorf("%s is not installed", o[0]))
			continue
		}
		if err := exec.CommandContext(ctx, o[0], append(o[1:len(o):len(o)], address)...).Run(); err != nil && ctx.Err() == nil {
			why = append(why, fmt.Errorf("%s: %w", o[0], err))
			continue
		}
		return nil
	}
	return fmt.Errorf("no browser was opened (%w); open the address above by hand", errors.Join(why...))
}

// WithoutTerminal tells whether the program was started by a double click: no terminal, and a desktop is there.
func WithoutTerminal() bool {
	if runtime.GOOS == "windows" {
		return mousetrap.StartedByExplorer()
	}
	for _, f := range []*os.File{os.Stdin, os.Stdout, os.Stderr} {
		if term.IsTerminal(int(f.Fd())) {
			return false
		}
	}
	return runtime.GOOS == "darwin" || os.Getenv("DISPLAY") != "" || os.Getenv("WAYLAND_DISPLAY") != ""
}

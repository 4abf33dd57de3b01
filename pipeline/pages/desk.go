package pages

import (
	"context"
	"errors"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"

	"go.uber.org/zap"

	"tracewheel/config"
	"tracewheel/pipeline/desk"
	"tracewheel/pipeline/web"
)

// Desk shows the drafting page alone: on this machine, at a port that is free, to browsers that come in while
// it runs. file is the draft to begin with, "" for the shelf. Drafts lie in its folder, else in the workroom's
// drafts, else, where the workroom is the sample, in the folder tracewheel of the user's home; dir is which.
func Desk(room *config.Workroom, file string) (p *Pages, dir string, err error) {
	dir = room.Path("drafts")
	if room.File == "" && (room.Dir == "" || room.Dir == ".") {
		home, err := os.UserHomeDir()
		if err != nil {
			return nil, "", err
		}
		own := *room
		own.Dir = filepath.Join(home, "tracewheel")
		room, dir = &own, own.Dir
	}
	next := ""
	if file != "" {
		if file, err = filepath.Abs(file); err != nil {
			return nil, "", err
		}
		dir = filepath.Dir(file)
		next = "&next=" + url.QueryEscape("/desk/draft/"+url.PathEscape(strings.TrimSuffix(filepath.Base(file), ".yaml")))
	}
	tmp, err := os.MkdirTemp("", "tracewheel-desk-")
	if err != nil {
		return nil, "", err
	}
	server, err := web.New(web.Options{Address: "127.0.0.1:0", Sessions: filepath.Join(tmp, "browsers.json"),
		Title: func() string { return "Drafting desk" }, Home: "/desk", CodeFrom: "tracewheel desk", Log: zap.NewNop()})
	if err == nil {
		_, err = desk.New(server, desk.Options{Drafts: dir, Cards: room.Path("cards"), Room: func() *config.Workroom { return room }})
	}
	if err != nil {
		return nil, "", errors.Join(err, os.RemoveAll(tmp))
	}
	server.Start()
	return &Pages{server: server, next: next, cancel: func() { _ = os.RemoveAll(tmp) }}, dir, nil
}

// Open asks the system's browser for an address. Where there is none, a person reads the address.
func Open(ctx context.Context, address string) {
	cmd := exec.CommandContext(ctx, "xdg-open", address)
	switch runtime.GOOS {
	case "windows":
		cmd = exec.CommandContext(ctx, "rundll32", "url.dll,FileProtocolHandler", address)
	case "darwin":
		cmd = exec.CommandContext(ctx, "open", address)
	}
	if cmd.Start() == nil {
		go cmd.Wait() //nolint:errcheck // it says itself what it lacks
	}
}

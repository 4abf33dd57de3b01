package pages

import (
	"context"
	"errors"
	"fmt"
	"hash/fnv"
	"io"
	"net"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"time"

	"go.uber.org/zap"

	"tracewheel/config"
	"tracewheel/pipeline/desk"
	"tracewheel/pipeline/desk/folder"
	"tracewheel/pipeline/web"
)

// DeskOptions say how the drafting page is shown alone.
type DeskOptions struct {
	Room *config.Workroom
	// File is the draft to begin with, "" for the shelf.
	File string
	// Host is the address of this machine at which it is shared from the beginning, "" for none: its page shares it, where a
	// person asks for it. There it comes without encryption and says so.
	Host string
	// Home gives the address at which it is shared when its page asks, nil for HomeAddress.
	Home func() (string, error)
	// End is what the page's button calls that closes the desk; nil shows none.
	End func()
}

// portFor is the port at which the desk of a folder is shown where it is free: the same after each start, so that a page that is
// still open finds the program again. It lies below those that systems give out themselves (IANA gives those from 49152, Linux
// from 32768).
func portFor(dir string) string {
	h := fnv.New32a()
	_, _ = h.Write([]byte(dir)) // never fails
	return strconv.Itoa(20000 + int(h.Sum32()%12000))
}

// Desk shows the drafting page alone, at the folder's port or another that is free, to browsers that come in while it runs. Drafts lie in
// the file's folder, else in the workroom's drafts, else, where the workroom is the sample, in the folder tracewheel
// of the user's home; dir is which.
func Desk(o DeskOptions) (p *Pages, dir string, err error) {
	room := o.Room
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
	if file := o.File; file != "" {
		if file, err = filepath.Abs(file); err != nil {
			return nil, "", err
		}
		var name string
		if dir, name, err = folder.At(file); err != nil {
			return nil, "", err
		}
		next = "&next=" + url.QueryEscape("/desk/draft/"+url.PathEscape(name))
	}
	tmp, err := os.MkdirTemp("", "tracewheel-desk-")
	if err != nil {
		return nil, "", err
	}
	options := web.Options{Address: net.JoinHostPort("127.0.0.1", portFor(dir)), Sessions: filepath.Join(tmp, "browsers.json"),
		Title: func() string { return "Drafting desk" }, Home: "/desk", CodeFrom: "tracewheel desk", Log: zap.NewNop()}
	server, err := web.New(options)
	if err != nil { // another program has that port
		options.Address = "127.0.0.1:0"
		server, err = web.New(options)
	}
	if err == nil {
		out := sharing{server, o.Home}
		if out.home == nil {
			out.home = HomeAddress
		}
		_, err = desk.New(server, desk.Options{Drafts: dir, Cards: room.Path("cards"), Room: func() *config.Workroom { return room }, End: o.End, Sharing: out})
	}
	if err == nil && o.Host != "" {
		err = server.Share(o.Host)
	}
	if err != nil {
		return nil, "", errors.Join(err, os.RemoveAll(tmp))
	}
	server.Start()
	return &Pages{server: server, next: next, cancel: func() { _ = os.RemoveAll(tmp) }}, dir, nil
}

// sharing opens the desk at the machine's address on the home network.
type sharing struct {
	server *web.Server
	home   func() (string, error)
}

func (s sharing) Share() error {
	host, err := s.home()
	if err != nil {
		return err
	}
	return s.server.Share(host)
}

func (s sharing) Unshare() error { return s.server.Unshare() }

func (s sharing) Phone() string {
	if s.server.SharedAddress() == "" {
		return ""
	}
	return s.server.GuestEntrance()
}

// ErrNoNetwork means that a phone cannot reach this machine.
var ErrNoNetwork = errors.New("this machine has no address of a home network: connect it, then share the desk again")

// HomeAddress is this machine's address on the home network: the first private one (RFC 1918).
func HomeAddress() (string, error) {
	all, err := net.InterfaceAddrs()
	if err != nil {
		return "", err
	}
	return homeOf(all)
}

func homeOf(all []net.Addr) (string, error) {
	if at := web.HomeOf(all); at != "" {
		return at, nil
	}
	return "", ErrNoNetwork
}

// endLimit is how long what is under way gets when the desk ends.
const endLimit = 10 * time.Second

// RunDesk shows the drafting page alone until the context or its button ends it, and opens it in the browser where
// open says so. It writes to out where the page is. Where no browser opens, tell is told: with an error from it the
// desk ends, since nobody would see it.
func RunDesk(ctx context.Context, o DeskOptions, out io.Writer, open bool, tell func(error) error) error {
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	o.End = func() { cancel(nil) }
	shown, dir, err := Desk(o)
	if err != nil {
		return err
	}
	at := shown.Entrance()
	fmt.Fprintf(out, "drafts in %s\nthe page, for one browser within five minutes: %s\n", dir, at)
	if o.Host != "" {
		_, rows, err := web.QR(shown.server.GuestEntrance())
		if err != nil {
			cancel(err)
		}
		fmt.Fprintf(out, "for a phone on the home network, once (another code: the page Phone):\n%s"+
			"While it runs, whoever came in by a code sees and changes these drafts and the measure cards. Nothing is encrypted: others on the network may read along.\n", rows)
	}
	if open {
		go func() {
			if err := Open(ctx, at); err != nil {
				if err := tell(err); err != nil {
					cancel(err)
				}
			}
		}()
	}
	<-ctx.Done()
	why := context.Cause(ctx)
	if errors.Is(why, context.Canceled) {
		why = nil
	}
	stop, done := context.WithTimeout(context.WithoutCancel(ctx), endLimit)
	defer done()
	return errors.Join(why, shown.Stop(stop))
}

// Package web serves this program's pages: it listens, keeps the door, frames pages and passes events on.
// What a page shows its guests say; nothing here knows of jobs or drafts.
package web

import (
	"cmp"
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"net/http"
	"sync"
	"time"

	"go.uber.org/zap"
)

// Options say where a server listens and who may come in.
type Options struct {
	// Address is host:port, a host name or an address of this machine. Beyond loopback it needs Cert and
	// Key, or PlainHTTP.
	Address string
	// Cert and Key are files in PEM for TLS.
	Cert, Key string
	// PlainHTTP allows an address beyond loopback without TLS; every page then says so.
	PlainHTTP bool
	// Hosts are further names by which browsers may ask for it.
	Hosts []string
	// Sessions is the file in which the hashes of cookies are kept.
	Sessions string
	// Home is the page that a browser sees first, "/" unless set.
	Home string
	// CodeFrom is the command by which a terminal gives a code, "tracewheel page" unless set.
	CodeFrom string
	// Title is what stands at the head of each page.
	Title func() string
	Log   *zap.Logger
	// Now is the clock; nil is time.Now.
	Now func() time.Time
	// Stall is how long what a browser sends may stand still before it is ended, 0 for 10 s.
	Stall time.Duration
}

// Server listens and lets guests show pages.
type Server struct {
	Door   *Door
	Events *Events
	// Stream is the path of the script by which the pages of one browser share one stream of events.
	Stream string

	o      Options
	ln     net.Listener
	cert   *certificate // nil without TLS
	mux    *http.ServeMux
	http   *http.Server
	nav    []Link
	keys   string // the path of the script of every page's keys
	find   Search
	style  string
	large  string
	assets map[string]asset

	sharing sync.Mutex
	shared  net.Listener // of Share, nil while nothing is shared
}

// Link is a page that each page's head leads to.
type Link struct {
	Path, Text string
	own        bool // no guest is served there
}

// ErrOpen means that the address would be open to others without protection.
var ErrOpen = errors.New("this address is open to other machines")

// New opens the address and the file of sessions. Handle what is to be shown, then Start.
func New(o Options) (*Server, error) {
	if o.Now == nil {
		o.Now = time.Now
	}
	o.Stall = cmp.Or(o.Stall, stallLimit)
	o.Home = cmp.Or(o.Home, "/")
	host, _, err := net.SplitHostPort(o.Address)
	if err != nil {
		return nil, fmt.Errorf("the page's address is host:port, such as 127.0.0.1:7432, not %q: %w", o.Address, err)
	}
	if !Loopback(host) && o.Cert == "" && !o.PlainHTTP {
		return nil, fmt.Errorf("%w: name a certificate and its key for TLS, or say plain_http: true, in the workroom file's page: %q", ErrOpen, o.Address)
	}
	o.CodeFrom = cmp.Or(o.CodeFrom, "tracewheel page")
	door, err := openDoor(o.Sessions, o.Now)
	if err != nil {
		return nil, err
	}
	ln, err := net.Listen("tcp", o.Address)
	if err != nil {
		return nil, fmt.Errorf("opening the page's address %s: %w; name another in the workroom file's page", o.Address, err)
	}
	var cert *certificate
	if o.Cert != "" {
		if cert, err = openCertificate(o.Cert, o.Key, o.Log, o.Now); err != nil {
			return nil, errors.Join(err, ln.Close())
		}
		ln = tls.NewListener(ln, &tls.Config{MinVersion: tls.VersionTLS12, NextProtos: []string{"http/1.1"},
			GetCertificate: func(*tls.ClientHelloInfo) (*tls.Certificate, error) { return cert.get(), nil }})
	}
	s := &Server{Door: door, Events: newEvents(), o: o, ln: ln, cert: cert, mux: http.NewServeMux(), assets: map[string]asset{}}
	door.withdrawn = s.Events.recheck
	s.ownPages()
	squeezed, err := squeeze(s.mux)
	if err != nil {
		return nil, errors.Join(err, ln.Close())
	}
	s.http = &http.Server{
		Handler: s.guard(squeezed), ReadHeaderTimeout: 10 * time.Second, IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 32 << 10,
		ErrorLog: zap.NewStdLog(o.Log.WithOptions(zap.IncreaseLevel(zap.ErrorLevel))),
	}
	return s, nil
}

// Entrance is the address with a fresh one-time code in it.
func (s *Server) Entrance() string { return s.Address() + "/enter?code=" + s.Door.NewCode(false) }

// GuestEntrance is Entrance for a browser of another machine, which comes in as a guest, by the address of Share where there is one.
func (s *Server) GuestEntrance() string {
	return cmp.Or(s.SharedAddress(), s.Address()) + "/enter?code=" + s.Door.newCode(code{guest: true})
}

// formLimit bounds what a request may bring, unless its handler says otherwise.
const formLimit = 64 << 10

// Handle shows a handler at a pattern of http.ServeMux to those who have a session.
func (s *Server) Handle(pattern string, h http.HandlerFunc) { s.HandleUpTo(formLimit, pattern, h) }

// HandleOwn is Handle for what lets others in or ends the program: no guest is served.
func (s *Server) HandleOwn(pattern string, h http.HandlerFunc) {
	s.Handle(pattern, func(w http.ResponseWriter, r *http.Request) {
		if SessionOf(r).Guest {
			s.Problem(w, r, http.StatusForbidden, "Not done", "this is done at the machine itself, in the browser that opened there")
			return
		}
		h(w, r)
	})
}

// HandleUpTo is Handle for requests that bring up to so many bytes.
func (s *Server) HandleUpTo(limit int64, pattern string, h http.HandlerFunc) {
	s.mux.Handle(pattern, s.behindDoor(limit, h))
}

// Inside tells whether a request's session still holds: what reads a long body asks again before it acts.
func (s *Server) Inside(r *http.Request) bool {
	_, ok := s.Door.session(r)
	return ok
}

// Search is the search field at the head of every page: a page that answers, and the name by which it is given the word.
// The zero Search is none.
type Search struct{ Path, Name, Label string }

// Search puts a search field at the head of every page. It is called before Start.
func (s *Server) Search(f Search) { s.find = f }

// Link adds a page to the head of each page.
func (s *Server) Link(path, text string) { s.nav = append(s.nav, Link{Path: path, Text: text}) }

// LinkOwn is Link of a page that HandleOwn serves.
func (s *Server) LinkOwn(path, text string) {
	s.nav = append(s.nav, Link{Path: path, Text: text, own: true})
}

// Start answers until Stop.
func (s *Server) Start() {
	go func() {
		if err := s.http.Serve(s.ln); !errors.Is(err, http.ErrServerClosed) {
			s.o.Log.Error("the page has ended", zap.Error(err))
		}
	}()
}

// Stop hangs up on streams and lets requests under way end, within the context's limit.
func (s *Server) Stop(ctx context.Context) error {
	s.Events.close()
	if err := s.http.Shutdown(ctx); err != nil {
		return errors.Join(fmt.Errorf("ending the page: %w", err), s.http.Close())
	}
	return nil
}

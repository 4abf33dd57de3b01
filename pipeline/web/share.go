package web

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"slices"

	"go.uber.org/zap"
)

// Share shows the pages at a second address too, without encryption, for guests on the network until Unshare. host is an address
// of this machine. What is shared already stays as it is.
func (s *Server) Share(host string) error {
	s.sharing.Lock()
	defer s.sharing.Unlock()
	if s.shared != nil {
		return nil
	}
	ln, err := net.Listen("tcp", net.JoinHostPort(host, "0"))
	if err != nil {
		return fmt.Errorf("opening an address on the network: %w", err)
	}
	s.shared = ln
	go func() {
		if err := s.http.Serve(ln); !errors.Is(err, http.ErrServerClosed) && !errors.Is(err, net.ErrClosed) {
			s.o.Log.Error("the shared page has ended", zap.Error(err))
		}
	}()
	return nil
}

// Unshare closes the second address, and ends the sessions and codes of guests, so that what they have open shows nothing more.
func (s *Server) Unshare() error {
	s.sharing.Lock()
	defer s.sharing.Unlock()
	if s.shared == nil {
		return nil
	}
	err := cmp.Or(s.shared.Close(), s.Door.withdrawGuests())
	s.shared = nil
	return err
}

// SharedAddress is the address of Share that a browser opens, "" while nothing is shared.
func (s *Server) SharedAddress() string {
	s.sharing.Lock()
	defer s.sharing.Unlock()
	if s.shared == nil {
		return ""
	}
	return "http://" + s.shared.Addr().String()
}

// plainly tells whether the answer to a request can be read by others on the network.
func (s *Server) plainly(ctx context.Context) bool {
	if s.o.PlainHTTP && s.o.Cert == "" {
		return true
	}
	at, ok := ctx.Value(http.LocalAddrContextKey).(net.Addr)
	s.sharing.Lock()
	defer s.sharing.Unlock()
	return ok && s.shared != nil && at.String() == s.shared.Addr().String()
}

// withdrawGuests ends the sessions of guests, and the codes by which others would come in.
func (d *Door) withdrawGuests() error {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.codes = slices.DeleteFunc(d.codes, func(c code) bool { return c.guest })
	err := d.keep(slices.DeleteFunc(slices.Clone(d.sessions), func(s Session) bool { return s.Guest }))
	if err == nil {
		d.withdrawn()
	}
	return err
}

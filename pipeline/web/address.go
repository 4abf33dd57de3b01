package web

import (
	"cmp"
	"net"
	"net/netip"
	"slices"
	"strings"
)

// Loopback tells whether a host can be reached from this machine only.
func Loopback(host string) bool {
	if host == "localhost" {
		return true
	}
	a, err := netip.ParseAddr(host)
	return err == nil && a.IsLoopback()
}

// HomeOf is the first private address of IPv4 (RFC 1918) among those of a machine, "" for none.
func HomeOf(all []net.Addr) string {
	for _, a := range all {
		if n, ok := a.(*net.IPNet); ok && n.IP.To4() != nil && n.IP.IsPrivate() {
			return n.IP.String()
		}
	}
	return ""
}

// names are those by which browsers may ask for this server, besides its address and localhost.
func (s *Server) names() []string {
	names := slices.Clone(s.o.Hosts)
	if s.cert != nil {
		names = append(names, s.cert.names()...)
	}
	return names
}

// host is the host in the address by which other machines ask for this server. Where it listens at all addresses, that is
// its first name, otherwise this machine's address on the home network, otherwise an address that only this machine
// reaches.
func (s *Server) host() string {
	host, _, _ := net.SplitHostPort(s.o.Address) // New has checked it
	if a, err := netip.ParseAddr(host); host != "" && (err != nil || !a.IsUnspecified()) {
		return host
	}
	if names := s.names(); len(names) > 0 {
		return names[0]
	}
	all, err := net.InterfaceAddrs()
	if err != nil {
		all = nil
	}
	return cmp.Or(HomeOf(all), "127.0.0.1")
}

// Address is the address that a browser opens, without a path.
func (s *Server) Address() string {
	scheme := "http"
	if s.cert != nil {
		scheme = "https"
	}
	_, port, _ := net.SplitHostPort(s.ln.Addr().String())
	return scheme + "://" + net.JoinHostPort(s.host(), port)
}

// Advice says what to name in the workroom file so that other machines can use the address that people are told, "" for
// nothing.
func (s *Server) Advice() string {
	host, _, _ := net.SplitHostPort(s.o.Address)
	if a, err := netip.ParseAddr(host); host != "" && (err != nil || !a.IsUnspecified()) || len(s.names()) > 0 {
		return ""
	}
	text := "the page listens at all addresses of this machine; browsers ask for it by an address, or by a name that stands in the workroom file's page: hosts"
	if Loopback(s.host()) {
		text = "the page listens at all addresses of this machine, and none is of a home network, so the address told is good on this machine alone; name in the workroom file's page: hosts how other machines call this one"
	}
	return text
}

// known tells whether a request asks for this server by one of its names or by an address. A name that another's name
// server gives for this address (DNS rebinding) is not known.
func (s *Server) known(host string) bool {
	name, _, err := net.SplitHostPort(host)
	if err != nil {
		name = host
	}
	name = strings.Trim(name, "[]")
	if _, err := netip.ParseAddr(name); err == nil || name == "localhost" {
		return true
	}
	own, _, _ := net.SplitHostPort(s.o.Address)
	return name != "" && slices.ContainsFunc(append(s.names(), own), func(h string) bool { return strings.EqualFold(h, name) })
}

package web

import (
	"context"
	"crypto/tls"
	"io"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"go.uber.org/zap"
	"go.uber.org/zap/zaptest/observer"

	"tracewheel/pipeline/web/webtest"
)

// TestTLS: a page with a certificate is reached by its name over TLS alone, its cookie goes nowhere else (RFC 6265, 4.1.2.5),
// a renewed certificate counts without a new start, and one that does not fit its key is told while the one before is kept.
func TestTLS(t *testing.T) {
	dir := t.TempDir()
	certFile, keyFile := filepath.Join(dir, "page.crt"), filepath.Join(dir, "page.key")
	ca := webtest.NewCA(t)
	first := ca.Issue(certFile, keyFile, "wardrobe.example", "127.0.0.1")
	core, logs := observer.New(zap.InfoLevel)
	s, err := New(Options{Address: "127.0.0.1:0", Cert: certFile, Key: keyFile, PlainHTTP: true, Sessions: filepath.Join(dir, "browsers.json"),
		Title: func() string { return "Wardrobe room" }, Log: zap.New(core)})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = s.Stop(t.Context()) }()
	s.Handle("GET /{$}", func(w http.ResponseWriter, r *http.Request) { s.Show(w, r, http.StatusOK, Page{Title: "Jobs"}) })
	s.Start()
	at := s.ln.Addr().String()
	_, port, _ := net.SplitHostPort(at)
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	// The name leads to this machine, as a name server would say.
	way := &http.Transport{TLSClientConfig: &tls.Config{RootCAs: ca.Pool()}, DisableKeepAlives: true,
		DialContext: func(ctx context.Context, _, _ string) (net.Conn, error) {
			return new(net.Dialer).DialContext(ctx, "tcp", at)
		}}
	browser := &http.Client{Jar: jar, Transport: way}
	ask := func(from string) (string, int64) {
		t.Helper()
		resp, err := browser.Get(from)
		if err != nil {
			t.Fatalf("%s: %v", from, err)
		}
		defer resp.Body.Close() //nolint:errcheck // read whole
		text, err := io.ReadAll(resp.Body)
		if err != nil {
			t.Fatal(err)
		}
		return string(text), resp.TLS.PeerCertificates[0].SerialNumber.Int64()
	}
	if want := "https://127.0.0.1:" + port; s.Address() != want {
		t.Errorf("the address is %s, not %s", s.Address(), want)
	}
	name := "https://wardrobe.example:" + port
	if text, serial := ask(name); !strings.Contains(text, "Come in") || serial != first.SerialNumber.Int64() || strings.Contains(text, "without encryption") {
		t.Errorf("certificate %d, and\n%s", serial, text)
	}
	resp, err := browser.PostForm(name+"/enter", url.Values{"code": {s.Door.NewCode(false)}})
	if err != nil {
		t.Fatal(err)
	}
	_ = resp.Body.Close()
	secure := &url.URL{Scheme: "https", Host: "wardrobe.example"}
	plain := &url.URL{Scheme: "http", Host: "wardrobe.example"}
	if len(jar.Cookies(secure)) != 1 || len(jar.Cookies(plain)) != 0 {
		t.Errorf("cookies by https %v, by http %v", jar.Cookies(secure), jar.Cookies(plain))
	}
	if text, _ := ask(name); !strings.Contains(text, "Wardrobe room") {
		t.Errorf("inside:\n%s", text)
	}
	if resp, err := http.Get("http://" + at); err != nil || resp.StatusCode != http.StatusBadRequest {
		t.Errorf("without TLS: %v, %v", resp, err)
	} else {
		_ = resp.Body.Close()
	}

	newer := func(want int64, why string) {
		t.Helper()
		if _, serial := ask(name); serial != want {
			t.Errorf("%s: certificate %d, not %d", why, serial, want)
		}
	}
	said := func(what string) int { return logs.FilterMessageSnippet(what).Len() }
	second := ca.Issue(certFile, keyFile, "wardrobe.example", "127.0.0.1").SerialNumber.Int64()
	newer(second, "renewed")
	ca.Issue(certFile, "", "wardrobe.example") // of another key
	newer(second, "a certificate of another key")
	newer(second, "again")
	if said("cannot be taken, so the one before is kept") != 1 {
		t.Errorf("the log says %v", logs.All())
	}
	if err := os.Remove(keyFile); err != nil {
		t.Fatal(err)
	}
	newer(second, "without a key")
	third := ca.Issue(certFile, keyFile, "wardrobe.example").SerialNumber.Int64()
	newer(third, "renewed again")
	if said("was renewed") != 2 || said("cannot be taken") != 2 {
		t.Errorf("the log says %v", logs.All())
	}

	if _, err := New(Options{Address: "127.0.0.1:0", Cert: certFile, Key: certFile, Sessions: filepath.Join(dir, "other"), Log: zap.NewNop()}); err == nil || !strings.Contains(err.Error(), "certificate") {
		t.Errorf("a key that is none: %v", err)
	}
}

// TestCertificateOver: a page is shown with a certificate that is over, and the log says that it is.
func TestCertificateOver(t *testing.T) {
	dir := t.TempDir()
	c, k := filepath.Join(dir, "c"), filepath.Join(dir, "k")
	webtest.NewCA(t).Issue(c, k, "wardrobe.example")
	core, logs := observer.New(zap.WarnLevel)
	if _, err := openCertificate(c, k, zap.New(core), func() time.Time { return time.Now().Add(24 * time.Hour) }); err != nil || logs.FilterMessageSnippet("is over").Len() != 1 {
		t.Errorf("%v, %v", err, logs.All())
	}
}

// TestAddressOfAll: a server that listens at all addresses tells one by which others reach it: a name of the workroom file, else
// one of its certificate, else the first private address; and where a name is wanted, it says where to name it.
func TestAddressOfAll(t *testing.T) {
	dir := t.TempDir()
	c, k := filepath.Join(dir, "c"), filepath.Join(dir, "k")
	webtest.NewCA(t).Issue(c, k, "*.wardrobe.example", "cutting.wardrobe.example")
	all, err := net.InterfaceAddrs()
	if err != nil {
		t.Fatal(err)
	}
	home := HomeOf(all)
	if home == "" {
		home = "127.0.0.1"
	}
	for _, address := range []string{"0.0.0.0:0", "[::]:0", ":0"} {
		for _, tt := range []struct {
			hosts     []string
			cert      bool
			want      string
			advice    bool
			is, isNot string
		}{
			{[]string{"wardrobe.local"}, false, "http://wardrobe.local:", false, "WARDROBE.local", "cutting.wardrobe.example"},
			{nil, true, "https://cutting.wardrobe.example:", false, "cutting.wardrobe.example", "other.wardrobe.example"},
			{nil, false, "http://" + home + ":", true, home, "wardrobe.local"},
		} {
			o := Options{Address: address, PlainHTTP: true, Hosts: tt.hosts, Sessions: filepath.Join(t.TempDir(), "b"), Title: func() string { return "" }, Log: zap.NewNop()}
			if tt.cert {
				o.Cert, o.Key = c, k
			}
			s, err := New(o)
			if err != nil {
				t.Fatal(err)
			}
			if !strings.HasPrefix(s.Address(), tt.want) || (s.Advice() != "") != tt.advice || tt.advice && !strings.Contains(s.Advice(), "page: hosts") {
				t.Errorf("%+v: %s, %q", tt, s.Address(), s.Advice())
			}
			if !s.known(tt.is+":1") || s.known(tt.isNot) {
				t.Errorf("%+v: known %v, %v", tt, s.known(tt.is+":1"), s.known(tt.isNot))
			}
			_ = s.ln.Close()
		}
	}
}

// TestHomeAddress: a phone is told the first private address, by the blocks of RFC 1918, section 3, or that there is none.
func TestHomeAddress(t *testing.T) {
	among := []net.Addr{&net.UnixAddr{Name: "x"}}
	for _, no := range []string{"127.0.0.1", "169.254.1.1", "9.255.255.255", "11.0.0.0", "172.15.255.255", "172.32.0.0", "192.167.255.255", "192.169.0.0", "fd00::1"} {
		among = append(among, &net.IPNet{IP: net.ParseIP(no), Mask: net.CIDRMask(24, 32)})
	}
	if at := HomeOf(among); at != "" {
		t.Errorf("%q", at)
	}
	for _, home := range []string{"10.0.0.0", "10.255.255.255", "172.16.0.0", "172.31.255.255", "192.168.0.0", "192.168.255.255"} {
		if at := HomeOf(append(slices.Clone(among), &net.IPNet{IP: net.ParseIP(home)}, &net.IPNet{IP: net.IPv4(10, 1, 1, 1)})); at != home {
			t.Errorf("%s: %q", home, at)
		}
	}
}

package pages_test

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"encoding/json"
	"io"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"go.uber.org/zap"

	"tracewheel/config"
	"tracewheel/pipeline"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/newroom"
	"tracewheel/pipeline/pages"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/web/webtest"
)

// shown is a workroom with its page and a browser that has come in. Its devices have no ports.
type shown struct {
	t       testing.TB
	dir     string
	room    *config.Workroom
	shop    *pipeline.Workshop
	pages   *pages.Pages
	address string
	browser *http.Client
	cert    *x509.Certificate
	way     *http.Transport // leads every name to this machine
}

// newShown starts one; edit changes the workroom file before, nil for as the sample is.
func newShown(t *testing.T, edit *strings.Replacer) *shown {
	t.Helper()
	return newShownOver(t, edit, nil)
}

// newShownOver is newShown with a certificate of an authority, page.crt and page.key beside the workroom file.
func newShownOver(t *testing.T, edit *strings.Replacer, ca *webtest.CA) *shown {
	t.Helper()
	return newShownWith(t, edit, ca, nil)
}

// newShownWith is newShownOver of a workroom whose folder is made ready before it starts.
func newShownWith(t testing.TB, edit *strings.Replacer, ca *webtest.CA, before func(dir string) error) *shown {
	t.Helper()
	r := &shown{t: t, dir: filepath.Join(t.TempDir(), "room")}
	if _, err := newroom.Write(r.dir, making.Sample()); err != nil {
		t.Fatal(err)
	}
	r.way = &http.Transport{DialContext: func(ctx context.Context, network, address string) (net.Conn, error) {
		_, port, _ := net.SplitHostPort(address)
		return new(net.Dialer).DialContext(ctx, network, "127.0.0.1:"+port)
	}}
	t.Cleanup(r.way.CloseIdleConnections)
	if ca != nil {
		r.cert = ca.Issue(filepath.Join(r.dir, "page.crt"), filepath.Join(r.dir, "page.key"), "127.0.0.1", "wardrobe.example")
		r.way.TLSClientConfig = &tls.Config{RootCAs: ca.Pool()}
	}
	file := filepath.Join(r.dir, "workroom.yaml")
	text := strings.NewReplacer("127.0.0.1:7432", "127.0.0.1:0", "/dev/tty", "/dev/no-such-tty", "kind: drag-knife\n", "kind: drag-knife\n    lay_wait: 0\n").Replace(string(config.SampleFile()))
	if edit != nil {
		text = edit.Replace(text)
	}
	err := os.WriteFile(file, []byte(text), 0o600)
	if err == nil {
		r.room, err = config.Load(file, pattern.RuleNames())
	}
	if err == nil && before != nil {
		err = before(r.dir)
	}
	if err == nil {
		r.shop, err = pipeline.New(t.Context(), r.room, zap.NewNop())
	}
	if err == nil {
		err = r.shop.Start(t.Context())
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = r.shop.Stop(t.Context()) }) // all was seen
	r.pages = pages.Start(t.Context(), r.shop, zap.NewNop())
	t.Cleanup(func() { _ = r.pages.Stop(t.Context()) }) // likewise
	r.browser = r.enter()
	return r
}

// enter lets one more browser in.
func (r *shown) enter() *http.Client {
	r.t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		r.t.Fatal(err)
	}
	c := &http.Client{Jar: jar, Transport: r.way}
	var code string
	r.address, code, _ = strings.Cut(r.pages.Entrance(), "/enter?code=")
	resp, err := c.PostForm(r.address+"/enter", url.Values{"code": {code}})
	if err != nil {
		r.t.Fatal(err)
	}
	_ = resp.Body.Close()
	if resp.StatusCode != http.StatusOK {
		r.t.Fatalf("not let in: %d", resp.StatusCode)
	}
	return c
}

func (r *shown) said(resp *http.Response, err error) (int, string) {
	r.t.Helper()
	if err != nil {
		r.t.Fatal(err)
	}
	defer resp.Body.Close() //nolint:errcheck // read whole
	text, err := io.ReadAll(resp.Body)
	if err != nil {
		r.t.Fatal(err)
	}
	return resp.StatusCode, string(text)
}

func (r *shown) post(path string, form url.Values) (int, string) {
	r.t.Helper()
	return r.said(r.browser.PostForm(r.address+path, form))
}

// postSeen sends a form with what its page shows now.
func (r *shown) postSeen(page, to string, form url.Values) (int, string) {
	r.t.Helper()
	_, text := r.get(page)
	m := regexp.MustCompile(`action="` + regexp.QuoteMeta(to) + `(?:#[a-z]*)?"[^>]*>.*?name="seen" value="([^"]*)"`).FindStringSubmatch(text)
	if m == nil {
		r.t.Fatalf("%s has no form for %s that says what was seen", page, to)
	}
	form.Set("seen", m[1])
	return r.post(to, form)
}

func (r *shown) get(path string) (int, string) {
	r.t.Helper()
	return r.said(r.browser.Get(r.address + path))
}

// drop puts a draft into the inbox, its ticket first; "" for none.
func (r *shown) drop(device, name string, draft []byte, ticket string) {
	r.t.Helper()
	to := filepath.Join(r.dir, "inbox", device, name)
	if ticket != "" {
		if err := os.WriteFile(to+".ticket.yaml", []byte(ticket), 0o600); err != nil {
			r.t.Fatal(err)
		}
	}
	if err := os.WriteFile(to, draft, 0o600); err != nil {
		r.t.Fatal(err)
	}
}

// until waits for a job to be as wanted.
func (r *shown) until(id int64, what string, is func(ledger.Job) bool) ledger.Job {
	r.t.Helper()
	for deadline := time.Now().Add(time.Minute); ; time.Sleep(20 * time.Millisecond) {
		j, err := r.shop.Jobs().Job(r.t.Context(), id)
		if err == nil && is(j) {
			return j
		}
		if time.Now().After(deadline) {
			r.t.Fatalf("job %d is not %s: %+v, %v", id, what, j, err)
		}
	}
}

func made(j ledger.Job) bool { return j.Ready }

// pagesSum is the sum of a cookie as the store keeps it.
func (r *shown) pagesSum() string {
	r.t.Helper()
	text, err := os.ReadFile(filepath.Join(r.room.Path(r.room.Folders.Store), "browsers.json"))
	if err != nil {
		r.t.Fatal(err)
	}
	var all []struct{ Hash string }
	if err := json.Unmarshal(text, &all); err != nil || len(all) == 0 {
		r.t.Fatalf("%s: %v", text, err)
	}
	return all[0].Hash
}

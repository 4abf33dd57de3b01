package web

import (
	"bufio"
	"context"
	"errors"
	"html/template"
	"io"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"go.uber.org/zap"
)

// rig is a server with one page of a guest, and a browser that stays where it is.
type rig struct {
	*Server
	t    *testing.T
	now  time.Time
	http *http.Client
	file string
}

func newRig(t *testing.T) *rig {
	t.Helper()
	r := &rig{t: t, now: time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC), file: filepath.Join(t.TempDir(), "browsers.json")}
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	r.http = &http.Client{Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	r.Server, err = New(Options{Address: "127.0.0.1:0", Sessions: r.file, Title: func() string { return "Wardrobe room" },
		Log: zap.NewNop(), Now: func() time.Time { return r.now }})
	if err != nil {
		t.Fatal(err)
	}
	r.Handle("GET /{$}", func(w http.ResponseWriter, q *http.Request) {
		r.Show(w, q, http.StatusOK, Page{Title: "Jobs", Main: "<p>bust 88</p>"})
	})
	r.Handle("POST /move", func(w http.ResponseWriter, _ *http.Request) { _, _ = io.WriteString(w, "moved") })
	r.Start()
	t.Cleanup(func() {
		ctx, end := context.WithTimeout(context.Background(), 5*time.Second)
		defer end()
		if err := r.Stop(ctx); err != nil {
			t.Error(err)
		}
	})
	return r
}

// ask sends a request and gives status and body.
func (r *rig) ask(method, path, body string, with ...func(*http.Request)) (int, string, http.Header) {
	r.t.Helper()
	req, err := http.NewRequestWithContext(r.t.Context(), method, r.Address()+path, strings.NewReader(body))
	if err != nil {
		r.t.Fatal(err)
	}
	if body != "" {
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	for _, fn := range with {
		fn(req)
	}
	resp, err := r.http.Do(req)
	if err != nil {
		r.t.Fatal(err)
	}
	defer resp.Body.Close() //nolint:errcheck // read whole
	text, err := io.ReadAll(resp.Body)
	if err != nil {
		r.t.Fatal(err)
	}
	return resp.StatusCode, string(text), resp.Header
}

func (r *rig) enter(code string) int {
	r.t.Helper()
	status, _, _ := r.ask("POST", "/enter", url.Values{"code": {code}}.Encode())
	return status
}

// TestNamesPlayWithNoReader: control characters and marks that turn the direction of writing are shown on no page. What a
// browser hands back stays as it is.
func TestNamesPlayWithNoReader(t *testing.T) {
	const typed = "bag\t\u202e\x1b[2J"
	kept := `<input name="a" value="` + typed + `"><textarea name="b">` + typed + "\n</textarea>"
	made := "<p title=\"" + typed + "\">" + typed + "</p>\n" + kept
	for name, send := range map[string]func(http.ResponseWriter){
		"printed": func(w http.ResponseWriter) { Printed(w, []byte(made)) },
		"shown": func(w http.ResponseWriter) {
			s := &Server{o: Options{Title: func() string { return typed }}}
			s.Show(w, httptest.NewRequest("GET", "/", nil), http.StatusOK, Page{Title: typed, Main: template.HTML(made)})
		},
	} {
		w := httptest.NewRecorder()
		send(w)
		text := w.Body.String()
		if !strings.Contains(text, kept) {
			t.Errorf("%s: what is handed back is changed:\n%q", name, text)
		}
		text = strings.Replace(text, kept, "", 1)
		if !strings.Contains(text, "<p title=\"bag\t\uFFFD\uFFFD[2J\">bag\t\uFFFD\uFFFD[2J</p>\n") || strings.ContainsAny(text, "\x1b\u202e") {
			t.Errorf("%s: %q", name, text)
		}
	}
}

// TestDoor: without a code nothing is shown and nothing moves; a code lets one browser in, once.
func TestDoor(t *testing.T) {
	r := newRig(t)
	shut := func(why string) {
		t.Helper()
		for _, path := range []string{"/", "/events", "/browsers"} {
			if status, text, _ := r.ask("GET", path, ""); status != http.StatusUnauthorized || strings.Contains(text, "bust") || strings.Contains(text, "Wardrobe") {
				t.Errorf("%s: GET %s gives %d %s", why, path, status, text)
			}
		}
		if status, text, _ := r.ask("POST", "/move", "a=b"); status != http.StatusUnauthorized || text == "moved" {
			t.Errorf("%s: POST gives %d %s", why, status, text)
		}
	}
	shut("before")
	code := r.Door.NewCode(false)
	if r.enter("23456-789AB") != http.StatusForbidden || r.enter(r.Door.NewCode(true)) != http.StatusForbidden {
		t.Error("a wrong code, or one that pairs, lets a browser in")
	}
	if status, text, _ := r.ask("GET", "/enter?code="+code, ""); status != http.StatusOK || !strings.Contains(text, code) {
		t.Errorf("the address shows %d %s", status, text)
	}
	shut("after a look at the address")
	if r.enter(strings.ToLower(code)) != http.StatusSeeOther {
		t.Fatal("the code does not let a browser in")
	}
	if status, text, _ := r.ask("GET", "/", ""); status != http.StatusOK || !strings.Contains(text, "bust 88") {
		t.Errorf("inside: %d %s", status, text)
	}
	if r.enter(code) != http.StatusForbidden {
		t.Error("a code serves twice")
	}

	kept, err := os.ReadFile(r.file)
	info, statErr := os.Stat(r.file)
	at, _ := url.Parse(r.Address())
	cookies := r.http.Jar.Cookies(at)
	if err != nil || statErr != nil || len(cookies) != 1 || strings.Contains(string(kept), cookies[0].Value) || info.Mode().Perm()&0o077 != 0 {
		t.Errorf("kept %s with rights %v: %v", kept, info.Mode(), err)
	}
	again, err := openDoor(r.file, func() time.Time { return r.now })
	req := &http.Request{Header: http.Header{"Cookie": {cookies[0].String()}}}
	if _, ok := again.session(req); err != nil || !ok {
		t.Errorf("a restart forgets who came in: %v", err)
	}
	if err := r.Door.Withdraw(1); err != nil {
		t.Fatal(err)
	}
	shut("withdrawn")
}

// TestWithdrawnWhileItComes: a form that comes slowly is not carried out once its browser is withdrawn, the next
// browser gets another number and no pairing, and what brings too much is refused before it lies on the disk.
func TestWithdrawnWhileItComes(t *testing.T) {
	r := newRig(t)
	if r.enter(r.Door.NewCode(false)) != http.StatusSeeOther {
		t.Fatal("not let in")
	}
	moved := make(chan string, 1)
	body, rest := io.Pipe()
	go func() {
		req, err := http.NewRequestWithContext(t.Context(), "POST", r.Address()+"/move", body)
		if err != nil {
			moved <- err.Error()
			return
		}
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		resp, err := r.http.Do(req)
		if err != nil {
			moved <- err.Error()
			return
		}
		defer resp.Body.Close() //nolint:errcheck // read whole
		text, _ := io.ReadAll(resp.Body)
		moved <- string(text)
	}()
	_, _ = io.WriteString(rest, "a=") // is taken only once the form is being read
	if err := r.Door.Pair(1, r.Door.NewCode(true)); err != nil {
		t.Fatal(err)
	}
	if err := r.Door.Withdraw(0); err != nil {
		t.Fatal(err)
	}
	_, _ = io.WriteString(rest, "b")
	_ = rest.Close()
	if said := <-moved; said == "moved" || !strings.Contains(said, "Come in") {
		t.Errorf("a withdrawn browser is told %s", said)
	}
	if err := r.Door.Pair(1, r.Door.NewCode(true)); err == nil {
		t.Error("a withdrawn browser is paired")
	}
	if r.enter(r.Door.NewCode(false)) != http.StatusSeeOther || r.Door.Sessions()[0].ID != 2 || r.Door.Paired(2) {
		t.Errorf("the next browser: %+v", r.Door.Sessions())
	}
	big := "--x\r\nContent-Disposition: form-data; name=\"code\"; filename=\"a\"\r\n\r\n" + strings.Repeat("a", 1<<20) + "\r\n--x--\r\n"
	tmp := t.TempDir()
	t.Setenv("TMPDIR", tmp)
	for _, path := range []string{"/enter", "/move"} {
		status, _, _ := r.ask("POST", path, big, func(q *http.Request) { q.Header.Set("Content-Type", "multipart/form-data; boundary=x") })
		left, err := os.ReadDir(tmp)
		if status == http.StatusSeeOther || err != nil || len(left) > 0 {
			t.Errorf("%s takes a file: %d, %v", path, status, left)
		}
	}
}

// TestOtherSites: a code leads to a page of this server only, whatever browsers leave out of an address
// (WHATWG URL Standard 4.4: tabs and newlines are removed, a backslash is a slash).
func TestOtherSites(t *testing.T) {
	for _, to := range []string{"//stage.example", "/\\stage.example", "/\t/stage.example", "/\n/stage.example", "http://stage.example", "stage.example", "\\\\stage.example", ""} {
		if got := Within(to, "/home"); got != "/home" {
			t.Errorf("%q leads to %q", to, got)
		}
	}
	if got := Within("/job/7?a=b", "/home"); got != "/job/7?a=b" {
		t.Errorf("a page of this server: %q", got)
	}
}

// TestCodesEnd: a code dies after five minutes. Wrong ones make the client that tried them wait, and nobody else.
func TestCodesEnd(t *testing.T) {
	r := newRig(t)
	old := r.Door.NewCode(false)
	r.now = r.now.Add(codeLasts)
	if r.enter(old) != http.StatusForbidden {
		t.Error("a code lives longer than five minutes")
	}
	one, other, third := r.Door.NewCode(false), r.Door.NewCode(false), r.Door.NewCode(false)
	for range 3 * codeTries {
		r.enter("AAAAA-AAAAA")
	}
	if r.enter(one) != http.StatusForbidden {
		t.Error("who tried many wrong codes is heard at once")
	}
	if _, err := r.Door.Enter(other, "", "192.0.2.7"); err != nil {
		t.Errorf("another client is kept out: %v", err)
	}
	r.now = r.now.Add(codePause)
	if r.enter(one) != http.StatusSeeOther {
		t.Error("a right code is not heard after the pause")
	}
	for range codeTries { // as fast as it may: one try in each pause
		r.now = r.now.Add(codePause)
		for range 2 {
			if _, err := r.Door.Enter("AAAAA-AAAAA", "", "192.0.2.8"); err == nil {
				t.Fatal("a wrong code lets in")
			}
		}
	}
	if _, err := r.Door.Enter(third, "", "192.0.2.8"); !errors.Is(err, ErrGuess) {
		t.Errorf("a client that guesses is heard without a pause: %v", err)
	}
}

// TestWithdrawnStream: the stream of a browser that was withdrawn ends at once, not when it next would say something.
func TestWithdrawnStream(t *testing.T) {
	r := newRig(t)
	if r.enter(r.Door.NewCode(false)) != http.StatusSeeOther {
		t.Fatal("not let in")
	}
	resp, err := r.http.Get(r.Address() + "/events")
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close() //nolint:errcheck // read to its end
	for r.Events.Listeners() == 0 {
		time.Sleep(time.Millisecond)
	}
	ended := make(chan error, 1)
	go func() { _, err := io.ReadAll(resp.Body); ended <- err }()
	if err := r.Door.Withdraw(0); err != nil {
		t.Fatal(err)
	}
	select {
	case <-ended:
	case <-time.After(beat / 2):
		t.Error("the stream of a withdrawn browser goes on")
	}
}

// TestForeignRequests: another name for the address (DNS rebinding), another site's form, and a page that frames
// this one get nothing (OWASP: Cross-Site Request Forgery Prevention, Fetch Metadata).
func TestForeignRequests(t *testing.T) {
	r := newRig(t)
	if r.enter(r.Door.NewCode(false)) != http.StatusSeeOther {
		t.Fatal("not let in")
	}
	host := func(h string) func(*http.Request) { return func(q *http.Request) { q.Host = h } }
	for _, h := range []string{"stage.example", "stage.example:7432", "localhost.stage.example"} {
		if status, text, _ := r.ask("GET", "/", "", host(h)); status != http.StatusMisdirectedRequest || strings.Contains(text, "bust") {
			t.Errorf("as %s: %d %s", h, status, text)
		}
	}
	if status, _, _ := r.ask("GET", "/", "", host("localhost:7432")); status != http.StatusUnauthorized { // its cookie is the address's
		t.Errorf("as localhost: %d", status)
	}
	from := func(name, value string) func(*http.Request) {
		return func(q *http.Request) { q.Header.Set(name, value) }
	}
	for name, value := range map[string]string{"Origin": "http://stage.example", "Sec-Fetch-Site": "cross-site"} {
		if status, text, _ := r.ask("POST", "/move", "a=b", from(name, value)); status != http.StatusForbidden || text == "moved" {
			t.Errorf("%s: %s gives %d %s", name, value, status, text)
		}
	}
	if status, text, _ := r.ask("POST", "/move", "a=b", from("Sec-Fetch-Site", "same-origin")); status != http.StatusOK || text != "moved" {
		t.Errorf("a form of its own: %d %s", status, text)
	}
	_, _, h := r.ask("GET", "/", "")
	if p := h.Get("Content-Security-Policy"); !strings.Contains(p, "default-src 'none'") || strings.Contains(p, "unsafe") || !strings.Contains(p, "frame-ancestors 'none'") {
		t.Errorf("policy %q", p)
	}
}

// TestOpenAddresses: beyond this machine only with TLS or by the workroom file's word.
func TestOpenAddresses(t *testing.T) {
	for _, address := range []string{"0.0.0.0:0", "[::]:0", ":0", "192.0.2.1:0"} {
		if s, err := New(Options{Address: address, Sessions: filepath.Join(t.TempDir(), "b"), Log: zap.NewNop()}); err == nil {
			t.Errorf("%s is opened", address)
			_ = s.ln.Close()
		}
	}
	s, err := New(Options{Address: "0.0.0.0:0", PlainHTTP: true, Sessions: filepath.Join(t.TempDir(), "b"), Log: zap.NewNop()})
	if err != nil {
		t.Fatal(err)
	}
	_ = s.ln.Close()
}

// TestEvents: a page hears the last word of each thing, and a withdrawn one nothing more.
func TestEvents(t *testing.T) {
	r := newRig(t)
	if r.enter(r.Door.NewCode(false)) != http.StatusSeeOther {
		t.Fatal("not let in")
	}
	req, err := http.NewRequestWithContext(t.Context(), "GET", r.Address()+"/events", nil)
	if err != nil {
		t.Fatal(err)
	}
	resp, err := r.http.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close() //nolint:errcheck // only read
	for r.Events.Listeners() == 0 {
		time.Sleep(time.Millisecond)
	}
	r.Events.Publish(Message{Name: "progress", Key: "7", Data: 12})
	in := bufio.NewReader(resp.Body)
	var got strings.Builder
	for !strings.Contains(got.String(), "data: 12\n\n") {
		line, err := in.ReadString('\n')
		if err != nil {
			t.Fatalf("%q: %v", got.String(), err)
		}
		got.WriteString(line)
	}
	if !strings.Contains(got.String(), "event: progress\n") {
		t.Errorf("heard %q", got.String())
	}
	if err := r.Door.Withdraw(0); err != nil {
		t.Fatal(err)
	}
	r.Events.Publish(Message{Name: "progress", Key: "7", Data: "bust 88"})
	rest, err := io.ReadAll(in)
	if strings.Contains(string(rest), "bust") {
		t.Errorf("a withdrawn page hears %q (%v)", rest, err)
	}
}

// TestAddressTaken: the fault names what mends it.
func TestAddressTaken(t *testing.T) {
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer ln.Close() //nolint:errcheck // only held
	_, err = New(Options{Address: ln.Addr().String(), Sessions: filepath.Join(t.TempDir(), "b"), Log: zap.NewNop()})
	if err == nil || !strings.Contains(err.Error(), "name another in the workroom file") {
		t.Errorf("%v", err)
	}
}

package pages_test

import (
	"errors"
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

	"tracewheel/pipeline/making"
	"tracewheel/pipeline/pages"
)

// comer is a browser that came in.
type comer struct {
	t       *testing.T
	http    *http.Client
	address string
}

func comeIn(t *testing.T, entrance string) comer {
	t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	address, code, _ := strings.Cut(entrance, "/enter?code=")
	c := comer{t, &http.Client{Jar: jar}, address}
	if status, text := c.ask("/enter", url.Values{"code": {code}}); status != http.StatusOK {
		t.Fatalf("%q: %d %s", entrance, status, text)
	}
	return c
}

// ask gets a page, or posts a form.
func (c comer) ask(path string, form url.Values) (int, string) {
	c.t.Helper()
	resp, err := c.http.Get(c.address + path)
	if form != nil {
		resp, err = c.http.PostForm(c.address+path, form)
	}
	if err != nil {
		c.t.Fatal(err)
	}
	defer resp.Body.Close() //nolint:errcheck // read whole
	text, err := io.ReadAll(resp.Body)
	if err != nil {
		c.t.Fatal(err)
	}
	return resp.StatusCode, string(text)
}

// TestStrangerSeesNothing: on a desk that is shared, a browser without a code, one that was withdrawn, and one that asks by
// another machine's name see and change nothing; the address alone leads to the shelf.
func TestStrangerSeesNothing(t *testing.T) {
	room := *making.Sample()
	room.Dir = t.TempDir()
	const draft = "style: Sash of wool\nunit: cm\nbody: {waist: 75}\npieces:\n  sash: strip 5 wide, waist + 10 long; cut 1\nallow: 1\n"
	file := filepath.Join(room.Dir, "drafts", "sash.yaml")
	if err := errors.Join(os.MkdirAll(filepath.Dir(file), 0o700), os.WriteFile(file, []byte(draft), 0o600)); err != nil {
		t.Fatal(err)
	}
	ended := false
	shown, _, err := pages.Desk(pages.DeskOptions{Room: &room, Host: "127.0.0.1", End: func() { ended = true }})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = shown.Stop(t.Context()) }) // all was seen
	entrance := shown.Entrance()
	phone := comeIn(t, entrance)
	if status, text := phone.ask("/", nil); status != http.StatusOK || !strings.Contains(text, "Begin with a garment") {
		t.Errorf("the address alone leads to %d %s", status, text)
	}
	if status, text := phone.ask("/desk/draft/sash", nil); status != http.StatusOK || !strings.Contains(text, "Sash of wool") {
		t.Errorf("%d %s", status, text)
	}
	stranger := comer{t, &http.Client{}, phone.address}
	nothing := func(who string, c comer) {
		t.Helper()
		for _, path := range []string{"/", "/desk", "/desk/draft/sash", "/desk/draft/sash/version", "/desk/draft/sash/share", "/desk/draft/sash/chalk", "/desk/draft/sash/sheets", "/desk/draft/sash/versions",
			"/desk/words?line=sash", "/desk/starter/hood/picture", "/desk/phone", "/browsers", "/events"} {
			if status, text := c.ask(path, nil); status != http.StatusUnauthorized || strings.Contains(text, "wool") || strings.Contains(text, "<svg") || strings.Contains(text, "code=") {
				t.Errorf("%s asks for %s: %d %s", who, path, status, text)
			}
		}
		for _, path := range []string{"/desk/draft/sash", "/desk/new", "/desk/draw", "/desk/end", "/desk/card/hale/fitting"} {
			if status, _ := c.ask(path, url.Values{"do": {"save"}, "text": {"mine"}, "starter": {"hood"}}); status != http.StatusUnauthorized {
				t.Errorf("%s posts to %s: %d", who, path, status)
			}
		}
	}
	nothing("a browser without a code", stranger)
	if status, _ := stranger.ask("/enter", url.Values{"code": {strings.TrimPrefix(entrance, phone.address+"/enter?code=")}}); status != http.StatusForbidden {
		t.Errorf("a code is taken twice: %d", status)
	}
	req, err := http.NewRequestWithContext(t.Context(), http.MethodGet, phone.address+"/desk/draft/sash", nil)
	if err != nil {
		t.Fatal(err)
	}
	req.Host = "somebody.example"
	resp, err := phone.http.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	_ = resp.Body.Close()
	if resp.StatusCode != http.StatusMisdirectedRequest {
		t.Errorf("by another name: %d", resp.StatusCode)
	}
	phone.ask("/browsers/1/withdraw", url.Values{})
	nothing("a browser that was withdrawn", phone)
	if text, err := os.ReadFile(file); err != nil || string(text) != draft || ended {
		t.Errorf("the file holds %s, the desk is ended: %v: %v", text, ended, err)
	}
}

// TestAPhoneIsAGuest: a browser that came in by the phone's code draws, but makes no codes, withdraws nobody else and does
// not close the desk; the browser at the machine does.
func TestAPhoneIsAGuest(t *testing.T) {
	room := *making.Sample()
	room.Dir = t.TempDir()
	ended := 0
	shown, _, err := pages.Desk(pages.DeskOptions{Room: &room, Host: "127.0.0.1", End: func() { ended++ }})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = shown.Stop(t.Context()) }) // all was seen
	own := comeIn(t, shown.Entrance())
	code := regexp.MustCompile(`<code>(http:[^<]*)</code>`)
	_, text := own.ask("/desk/phone", nil)
	invited := code.FindStringSubmatch(text)
	if invited == nil {
		t.Fatalf("no code for a phone:\n%s", text)
	}
	phone := comeIn(t, invited[1])

	status, text := phone.ask("/desk", nil)
	if status != http.StatusOK || !strings.Contains(text, "Begin with a garment") || strings.Contains(text, "/desk/phone") || strings.Contains(text, "/desk/end") {
		t.Errorf("%d, no shelf of a guest:\n%s", status, text)
	}
	if _, text := own.ask("/desk", nil); !strings.Contains(text, "/desk/phone") || !strings.Contains(text, "/desk/end") {
		t.Errorf("at the machine it is not offered:\n%s", text)
	}
	if status, text := phone.ask("/desk/phone", nil); status != http.StatusForbidden || code.MatchString(text) {
		t.Errorf("a phone makes a code: %d\n%s", status, text)
	}
	if status, _ := phone.ask("/desk/end", url.Values{}); status != http.StatusForbidden || ended != 0 {
		t.Errorf("a phone closes the desk: %d, %d", status, ended)
	}
	if status, _ := phone.ask("/browsers/1/withdraw", url.Values{}); status != http.StatusForbidden {
		t.Errorf("a phone withdraws the machine's browser: %d", status)
	}
	if _, text := phone.ask("/browsers", nil); strings.Contains(text, "/browsers/1/withdraw") || !strings.Contains(text, "/browsers/2/withdraw") {
		t.Errorf("a guest's list:\n%s", text)
	}
	if status, _ := phone.ask("/browsers/2/withdraw", url.Values{}); status != http.StatusUnauthorized {
		t.Errorf("a phone cannot go: %d", status) // the page behind it asks for a code
	}
	if status, _ := own.ask("/desk/end", url.Values{}); status != http.StatusOK || ended != 1 {
		t.Errorf("the machine's browser does not close the desk: %d, %d", status, ended)
	}
}

// TestSharedFromThePage: a desk that began alone is opened to the network from its page, after a question that says what it opens;
// until then nothing else listens, and afterwards what came in so is shut out while the desk goes on at the machine.
func TestSharedFromThePage(t *testing.T) {
	room := *making.Sample()
	room.Dir = t.TempDir()
	at, offline := "127.0.0.1", true
	shown, _, err := pages.Desk(pages.DeskOptions{Room: &room, End: func() {}, Home: func() (string, error) {
		if offline {
			return "", pages.ErrNoNetwork
		}
		return at, nil
	}})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = shown.Stop(t.Context()) }) // all was seen
	own := comeIn(t, shown.Entrance())
	code := regexp.MustCompile(`<code>(http:[^<]*)</code>`)
	if _, text := own.ask("/desk/phone", nil); code.MatchString(text) || !strings.Contains(text, "What that opens") || !strings.Contains(text, "It ends with the button Stop sharing") {
		t.Fatalf("shared before anybody asked, or it does not say what it opens:\n%s", text)
	}
	if status, text := own.ask("/desk/phone", url.Values{}); status != http.StatusBadRequest || code.MatchString(text) || !strings.Contains(text, "tick the box first") {
		t.Errorf("shared without a yes: %d\n%s", status, text)
	}
	if status, text := own.ask("/desk/phone", url.Values{"home": {"yes"}}); status != http.StatusBadRequest || !strings.Contains(text, "no address of a home network") {
		t.Errorf("without a network: %d\n%s", status, text)
	}
	offline = false
	_, text := own.ask("/desk/phone", url.Values{"home": {"yes"}})
	invited := code.FindStringSubmatch(text)
	if invited == nil || strings.HasPrefix(invited[1], own.address+"/") || strings.Contains(text, "comes without encryption") {
		t.Fatalf("no code for a phone at an address of its own:\n%s", text)
	}
	phone := comeIn(t, invited[1])
	if status, text := phone.ask("/desk", nil); status != http.StatusOK || !strings.Contains(text, "Begin with a garment") || !strings.Contains(text, "comes without encryption") {
		t.Errorf("the phone: %d\n%s", status, text)
	}
	for _, path := range []string{"/desk/phone", "/desk/phone/end"} {
		if status, _ := phone.ask(path, url.Values{"home": {"yes"}}); status != http.StatusForbidden {
			t.Errorf("a phone posts to %s: %d", path, status)
		}
	}
	_, text = own.ask("/desk/phone", nil)
	unused := code.FindStringSubmatch(text)
	if status, text := own.ask("/desk/phone/end", url.Values{}); status != http.StatusOK || code.MatchString(text) {
		t.Errorf("the end: %d\n%s", status, text)
	}
	if resp, err := phone.http.Get(phone.address + "/desk"); err == nil { // by the connection that it has
		_ = resp.Body.Close()
		if resp.StatusCode != http.StatusUnauthorized {
			t.Errorf("the phone goes on: %d", resp.StatusCode)
		}
	}
	if conn, err := net.Dial("tcp", strings.TrimPrefix(phone.address, "http://")); err == nil {
		_ = conn.Close()
		t.Error("the address is still open")
	}
	late := strings.Replace(unused[1], phone.address, own.address, 1)
	_, word, _ := strings.Cut(late, "code=")
	if status, _ := (comer{t, &http.Client{}, own.address}).ask("/enter", url.Values{"code": {word}}); status != http.StatusForbidden {
		t.Errorf("a code of before lets somebody in: %d", status)
	}
	if status, _ := own.ask("/desk", nil); status != http.StatusOK {
		t.Errorf("the machine's own browser is shut out: %d", status)
	}
	// Shared again, with another code.
	if _, text := own.ask("/desk/phone", url.Values{"home": {"yes"}}); !code.MatchString(text) {
		t.Errorf("not shared again:\n%s", text)
	}
}

package pages_test

import (
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/url"
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

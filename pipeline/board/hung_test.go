package board

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"mime/multipart"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"go.uber.org/zap"

	"tracewheel/config"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/web"
)

// paged is a board in a server with a browser that is signed in, without a ledger.
func paged(t *testing.T, stall time.Duration) (server *web.Server, browser *http.Client, device, inbox string) {
	t.Helper()
	server, err := web.New(web.Options{Address: "127.0.0.1:0", Sessions: filepath.Join(t.TempDir(), "browsers.json"), Title: func() string { return "" }, Log: zap.NewNop(), Stall: stall})
	if err != nil {
		t.Fatal(err)
	}
	room := *making.Sample()
	room.Dir = t.TempDir()
	device = room.DeviceNames()[0]
	inbox = filepath.Join(room.Path(room.Folders.Inbox), device)
	if err := os.MkdirAll(inbox, 0o700); err != nil {
		t.Fatal(err)
	}
	if _, err := New(server, Options{Jobs: control.New(nil, nil, zap.NewNop(), nil), Room: func() *config.Workroom { return &room }, Log: zap.NewNop()}); err != nil {
		t.Fatal(err)
	}
	server.Start()
	t.Cleanup(func() { _ = server.Stop(t.Context()) }) // nobody asks any more
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	browser = &http.Client{Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	_, code, _ := strings.Cut(server.Entrance(), "code=")
	resp, err := browser.PostForm(server.Address()+"/enter", url.Values{"code": {code}})
	if err != nil {
		t.Fatal(err)
	}
	_ = resp.Body.Close()
	return server, browser, device, inbox
}

// TestHungUploadsFreeTheirPlaces: clients that begin an upload and send nothing hold a place until the body times out.
// Others who are refused meanwhile are told why, also during a large upload.
func TestHungUploadsFreeTheirPlaces(t *testing.T) {
	server, browser, device, inbox := paged(t, 3*time.Second)
	at, err := url.Parse(server.Address())
	if err != nil {
		t.Fatal(err)
	}
	cookie := browser.Jar.Cookies(at)[0].String()
	for range uploadsAtOnce {
		conn, err := net.Dial("tcp", at.Host)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = conn.Close() }) // long ended
		fmt.Fprintf(conn, "POST /drop HTTP/1.1\r\nHost: localhost\r\nCookie: %s\r\nContent-Type: multipart/form-data; boundary=x\r\nContent-Length: 100\r\n\r\n", cookie)
	}
	for end := time.Now().Add(time.Minute); len(uploads) < uploadsAtOnce; time.Sleep(time.Millisecond) {
		if time.Now().After(end) {
			t.Fatal("the uploads that hang never came")
		}
	}
	drop := func(draft []byte) (int, string) {
		t.Helper()
		var body bytes.Buffer
		form := multipart.NewWriter(&body)
		_ = form.WriteField("device", device) // into memory, as all of it
		part, _ := form.CreateFormFile("draft", "sash.yaml")
		_, _ = part.Write(draft)
		_ = form.Close()
		resp, err := browser.Post(server.Address()+"/drop", form.FormDataContentType(), &body)
		if err != nil {
			t.Fatal(err)
		}
		defer resp.Body.Close() //nolint:errcheck // read whole
		text, err := io.ReadAll(resp.Body)
		if err != nil {
			t.Fatal(err)
		}
		return resp.StatusCode, string(text)
	}
	// A browser sends the whole body before it reads the answer.
	const head = "--x\r\nContent-Disposition: form-data; name=\"draft\"; filename=\"a.svg\"\r\n\r\n"
	long := func(bytes int, status int, says ...string) {
		t.Helper()
		conn, err := net.Dial("tcp", at.Host)
		if err != nil {
			t.Fatal(err)
		}
		defer conn.Close() //nolint:errcheck // only read
		_, err = fmt.Fprintf(conn, "POST /drop HTTP/1.1\r\nHost: localhost\r\nCookie: %s\r\nContent-Type: multipart/form-data; boundary=x\r\nContent-Length: %d\r\n\r\n%s%s", cookie, len(head)+bytes, head, strings.Repeat("x", bytes))
		var resp *http.Response
		if err == nil {
			resp, err = http.ReadResponse(bufio.NewReader(conn), nil)
		}
		if err != nil {
			t.Fatalf("a draft of %d bytes: its browser hears nothing: %v", bytes, err)
		}
		text, err := io.ReadAll(resp.Body)
		for _, s := range says {
			if err != nil || resp.StatusCode != status || !strings.Contains(string(text), s) {
				t.Errorf("a draft of %d bytes: %s %s: %v", bytes, resp.Status, text, err)
			}
		}
	}
	long(15<<20, http.StatusServiceUnavailable, "4 other drafts are coming in just now", "Nothing of yours was kept")
	for end := time.Now().Add(time.Minute); ; time.Sleep(50 * time.Millisecond) {
		status, text := drop([]byte("style: Sash\n"))
		if status != http.StatusServiceUnavailable {
			if _, err := os.Stat(filepath.Join(inbox, "sash.yaml")); status != http.StatusOK || err != nil {
				t.Errorf("%d %s: %v", status, text, err)
			}
			break
		}
		if time.Now().After(end) {
			t.Fatal("the places are held for a minute")
		}
	}
	long(25<<20, http.StatusRequestEntityTooLarge, "larger than 20 MB")
}

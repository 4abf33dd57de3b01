package desk

import (
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"path/filepath"
	"strings"
	"testing"

	"go.uber.org/zap"

	"tracewheel/config"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/web"
)

// visitor is a browser that is signed in, without scripts.
type visitor struct {
	t       *testing.T
	room    *config.Workroom
	drafts  string
	browser *http.Client
	address string
	desk    *Desk
}

func visit(t *testing.T) *visitor {
	t.Helper()
	room := *making.Sample()
	room.Dir = t.TempDir()
	v := &visitor{t: t, room: &room, drafts: filepath.Join(room.Dir, "drafts")}
	server, err := web.New(web.Options{Address: "127.0.0.1:0", Sessions: filepath.Join(room.Dir, "browsers.json"),
		Title: func() string { return room.Name }, Log: zap.NewNop()})
	if err != nil {
		t.Fatal(err)
	}
	if v.desk, err = New(server, Options{Drafts: v.drafts, Cards: room.Path("cards"), Room: func() *config.Workroom { return &room }}); err != nil {
		t.Fatal(err)
	}
	server.Start()
	t.Cleanup(func() { _ = server.Stop(t.Context()) }) // nobody asks any more
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	v.browser, v.address = &http.Client{Jar: jar}, server.Address()
	_, code, _ := strings.Cut(server.Entrance(), "code=")
	v.post("/enter", url.Values{"code": {code}})
	return v
}

func (v *visitor) answer(resp *http.Response, err error) (int, string) {
	v.t.Helper()
	if err != nil {
		v.t.Fatal(err)
	}
	defer resp.Body.Close() //nolint:errcheck // read whole
	text, err := io.ReadAll(resp.Body)
	if err != nil {
		v.t.Fatal(err)
	}
	return resp.StatusCode, string(text)
}

func (v *visitor) post(path string, form url.Values) (int, string) {
	v.t.Helper()
	return v.answer(v.browser.PostForm(v.address+path, form))
}

func (v *visitor) get(path string) (int, string) {
	v.t.Helper()
	return v.answer(v.browser.Get(v.address + path))
}

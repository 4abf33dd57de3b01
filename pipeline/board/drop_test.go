package board

import (
	"bytes"
	"fmt"
	"io"
	"maps"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"go.uber.org/zap"

	"tracewheel/config"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/pattern"
)

// TestDropOfSeveralDrafts: several drafts become a job each, with the ticket beside each, or one job whose ticket
// lists the others; a refusal says why and leaves no file.
func TestDropOfSeveralDrafts(t *testing.T) {
	room := *making.Sample()
	device := room.DeviceNames()[0]
	for _, c := range []struct {
		title, as, ticket string
		files             []string
		want              map[string]string // file to its bytes, "" for those that were dropped
		says              string
	}{
		{"each", "each", "copies: 2", []string{"smock.yaml", `C:\x\apron.svg`},
			map[string]string{"smock.yaml": "", "apron.svg": "", "smock.yaml.ticket.yaml": "copies: 2\n", "apron.svg.ticket.yaml": "copies: 2\n"}, ""},
		{"nothing chosen", "", "", []string{"smock.yaml", "apron.svg"}, map[string]string{"smock.yaml": "", "apron.svg": ""}, ""},
		{"one job", "one", "copies: 2\r\n", []string{"smock.yaml", "../an apron.svg", "cap.dxf"},
			map[string]string{"smock.yaml": "", "an-apron.svg": "", "cap.dxf": "", "smock.yaml.ticket.yaml": "copies: 2\nwith:\n  - an-apron.svg\n  - cap.dxf\n"}, ""},
		{"one job without a ticket", "one", "", []string{"smock.yaml", "apron.svg"},
			map[string]string{"smock.yaml": "", "apron.svg": "", "smock.yaml.ticket.yaml": "with:\n  - apron.svg\n"}, ""},
		{"one job of one", "one", "", []string{"smock.yaml"}, map[string]string{"smock.yaml": ""}, ""},
		{"the ticket names the first", "one", "with: [{file: smock.yaml, body: B}]", []string{"smock.yaml", "apron.svg"},
			map[string]string{"smock.yaml": "", "apron.svg": "", "apron.svg.ticket.yaml": "with: [{file: smock.yaml, body: B}]\n"}, ""},
		{"the ticket names too few", "one", "with: [smock.yaml]", []string{"smock.yaml", "apron.svg", "cap.dxf"}, nil, "all but apron.svg, cap.dxf"},
		{"the ticket names all", "one", "with: [smock.yaml, apron.svg]", []string{"smock.yaml", "apron.svg"}, nil, "all of them"},
		{"a ticket in brackets", "one", "{copies: 2}", []string{"smock.yaml", "apron.svg"}, nil, "in a line of its own"},
		{"a ticket that cannot be read", "each", "copeis: 4", []string{"smock.yaml"}, nil, "line 1, column 1: copeis: "},
		{"a width that is none", "one", "allowance: ten", []string{"smock.yaml", "apron.svg"}, nil, "line 1, column 12: allowance: "},
		{"each, and named", "each", "with: [apron.svg]", []string{"smock.yaml", "apron.svg"}, nil, "choose one job of all"},
		{"one name", "each", "", []string{"a b.svg", "a-b.svg"}, nil, "two of the drafts would both be called a-b.svg"},
		{"one name but for case", "one", "", []string{"Smock.yaml", "smock.yaml"}, nil, "two of the drafts"},
		{"no draft", "each", "", nil, nil, "no draft came"},
		{"a program", "each", "", []string{"smock.yaml", "run.sh"}, nil, "a draft is"},
		{"one lies there", "each", "", []string{"smock.yaml", "there.svg"}, map[string]string{"there.svg": "theirs"}, "there.svg&#34; lies in the inbox already"},
		{"one lies there, one job", "one", "", []string{"smock.yaml", "there.svg"}, map[string]string{"there.svg": "theirs"}, "there.svg&#34; lies in the inbox already"},
		{"too many", "each", "", strings.Fields(strings.Repeat("x.svg ", mostDropped+1)), nil, "51 drafts, and at most 50"},
	} {
		room.Dir = t.TempDir()
		inbox := filepath.Join(room.Path(room.Folders.Inbox), device)
		if err := os.MkdirAll(inbox, 0o700); err != nil {
			t.Fatal(err)
		}
		if c.want["there.svg"] != "" {
			if err := os.WriteFile(filepath.Join(inbox, "there.svg"), []byte("theirs"), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		var body bytes.Buffer
		form := multipart.NewWriter(&body)
		for name, text := range map[string]string{"device": device, "as": c.as, "ticket": c.ticket} {
			_ = form.WriteField(name, text) // into memory, as all of it
		}
		for i, name := range c.files {
			head := make(map[string][]string)
			head["Content-Disposition"] = []string{fmt.Sprintf(`form-data; name="draft"; filename="%s"`, strings.ReplaceAll(name, `\`, `\\`))}
			part, _ := form.CreatePart(head)
			fmt.Fprintf(part, "draft %d", i)
		}
		_ = form.Close()
		req := httptest.NewRequest(http.MethodPost, "/drop", &body)
		req.Header.Set("Content-Type", form.FormDataContentType())
		if err := req.ParseMultipartForm(uploadLimit); err != nil {
			t.Fatal(err)
		}
		b := &Board{o: Options{Jobs: control.New(nil, nil, zap.NewNop(), nil), Room: func() *config.Workroom { return &room }, Log: zap.NewNop()}}
		got, err := b.take(req)
		said := ""
		if err != nil {
			said = strings.ReplaceAll(err.Error(), `"`, "&#34;")
		}
		if (c.says == "") != (err == nil) || !strings.Contains(said, c.says) {
			t.Errorf("%s: %v, and not %q", c.title, err, c.says)
		}
		entries, err := os.ReadDir(inbox)
		if err != nil || len(entries) != len(c.want) {
			t.Errorf("%s: there lie %v: %v", c.title, entries, err)
		}
		for name, text := range c.want {
			data, err := os.ReadFile(filepath.Join(inbox, name))
			if err != nil || text != "" && string(data) != text || text == "" && !strings.HasPrefix(string(data), "draft ") {
				t.Errorf("%s: %s holds %q: %v", c.title, name, data, err)
			}
		}
		if got.One && c.says == "" {
			if ticket, err := pattern.ReadTicket([]byte(c.want[got.Names[0]+".ticket.yaml"])); err != nil || len(ticket.With) != len(c.files)-1 {
				t.Errorf("%s: the ticket of %s names %v: %v", c.title, got.Names[0], ticket.With, err)
			}
		}
	}
}

// TestDropFormComesBackAsItWas: a form with a mistake is shown again with everything that was chosen and written, the
// fault marked at its field; the files must be chosen again, and are listed.
func TestDropFormComesBackAsItWas(t *testing.T) {
	server, browser, _, _ := paged(t, time.Minute)
	send := func(form map[string]string) (int, string) {
		t.Helper()
		var body bytes.Buffer
		w := multipart.NewWriter(&body)
		for name, text := range form {
			_ = w.WriteField(name, text) // into memory, as all of it
		}
		part, _ := w.CreateFormFile("draft", "<smock>.yaml")
		_, _ = part.Write([]byte("style: Smock\n"))
		_ = w.Close()
		resp, err := browser.Post(server.Address()+"/drop", w.FormDataContentType(), &body)
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
	for field, c := range map[string]struct {
		form  map[string]string
		label string
	}{
		"say-copies": {map[string]string{"say-copies": "2", "ticket": "toile: true\ncopies: 3"}, "Copies"},
		"ticket":     {map[string]string{"say-copies": "2", "ticket": "{toile: true}"}, "Further lines"},
		"device":     {map[string]string{"device": "loom", "say-copies": "2"}, "For which device"},
	} {
		form := map[string]string{"device": "roll-plotter", "as": "one", "say-material": "calico", "say-wearer": `Ottilie "the tall"`, "say-due": "2026-12-14"}
		maps.Copy(form, c.form)
		status, page := send(form)
		if status != http.StatusBadRequest {
			t.Errorf("%s: %d", field, status)
		}
		wants := []string{`see <a href="#` + field + `">` + c.label + `</a>`, `aria-invalid="true" aria-describedby="f-` + field + `"`, `<span id="f-` + field + `" class="slip">`,
			`value="one" checked`, `<details class="ticket" open>`, `<option selected>calico</option>`, `name="say-copies" value="2"`, `value="Ottilie &#34;the tall&#34;"`, `value="2026-12-14"`,
			">" + form["ticket"] + "</textarea>", "To be chosen again: &lt;smock&gt;.yaml"}
		if field != "device" {
			wants = append(wants, "<option selected>roll-plotter</option>")
		}
		for _, want := range wants {
			if !strings.Contains(page, want) {
				t.Errorf("%s: the form lacks %s:\n%s", field, want, page)
			}
		}
		if n := strings.Count(page, "aria-invalid"); n != 1 {
			t.Errorf("%s: %d fields are marked", field, n)
		}
	}
}

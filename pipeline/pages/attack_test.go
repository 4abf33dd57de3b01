package pages_test

import (
	"bytes"
	"fmt"
	"io"
	"io/fs"
	"mime/multipart"
	"net/http"
	"net/textproto"
	"net/url"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/ledger"
)

// attacked is a request as an attacker writes it.
func (r *shown) attacked(method, path string, change func(*http.Request)) (*http.Response, string) {
	r.t.Helper()
	var body io.Reader
	if method == http.MethodPost {
		body = strings.NewReader(url.Values{"seen": {"1"}, "said": {"bed-clear"}, "what": {"pen"}, "last": {"0"}, "size": {"300mm"}, "count": {"1"}, "who": {"Nobody"}}.Encode())
	}
	req, err := http.NewRequestWithContext(r.t.Context(), method, r.address+path, body)
	if err != nil {
		r.t.Fatal(err)
	}
	if body != nil {
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	change(req)
	resp, err := r.way.RoundTrip(req) // with no cookie but the attacker's own
	if err != nil {
		r.t.Fatal(err)
	}
	defer resp.Body.Close() //nolint:errcheck // read as far as it is looked at
	text, err := io.ReadAll(io.LimitReader(resp.Body, 1<<20))
	if err != nil {
		r.t.Fatal(err)
	}
	return resp, string(text)
}

// cookie is what a browser of the workroom sends.
func (r *shown) cookie() string {
	r.t.Helper()
	at, err := url.Parse(r.address)
	if err != nil {
		r.t.Fatal(err)
	}
	all := r.browser.Jar.Cookies(at)
	if len(all) != 1 {
		r.t.Fatalf("cookies %v", all)
	}
	return all[0].String()
}

// untouched gives what an attack must leave as it is: the ledger's last line, who may see the page, and the files of the
// inbox.
func (r *shown) untouched() string {
	r.t.Helper()
	last, err := r.shop.Jobs().LastEvent(r.t.Context())
	var files []string
	if err == nil {
		err = filepath.WalkDir(filepath.Join(r.dir, "inbox"), func(path string, _ fs.DirEntry, err error) error {
			files = append(files, path)
			return err
		})
	}
	if err != nil {
		r.t.Fatal(err)
	}
	return fmt.Sprint(last, files)
}

// TestAttackersGetNothing: another login of the machine without a code, another site's form or frame, a name that somebody
// else's name server gives the address, a guessed cookie, and one that was stolen and is withdrawn are shown nothing of a
// job, and nothing moves (OWASP Cheat Sheets: Session Management, Cross-Site Request Forgery Prevention).
func TestAttackersGetNothing(t *testing.T) {
	r := newShown(t, nil)
	r.drop("knife-table", "leaf-crown.svg", samples.Read("leaf-crown.svg"), "wearer: Ottilie Quince\nproduction: The Paper Moon\n")
	r.until(1, "made", made)
	if status, text := r.get("/job/1"); status != http.StatusOK || !strings.Contains(text, "Ottilie Quince") {
		t.Fatalf("who may see it: %d\n%s", status, text)
	}
	shows := []string{"/", "/job/1", "/job/1/picture", "/job/1/file/program.bin", "/job/1/file/report-report.html", "/past", "/past?wearer=Quince", "/production",
		"/production?name=The+Paper+Moon", "/drop", "/device/knife-table", "/browsers", "/settings", "/events", "/events?after=0", "/desk"}
	moves := []string{"/job/1/release", "/job/1/cancel", "/job/1/pause", "/job/1/next", "/job/1/hold", "/job/1/again", "/job/1/tick", "/job/1/seen", "/drop",
		"/device/knife-table/changed", "/device/roll-plotter/plot", "/device/roll-plotter/square", "/who", "/pair", "/browsers/1/withdraw", "/browsers/1/unpair", "/desk/new"}
	secrets := []string{"Ottilie", "Paper Moon", "leaf-crown", "Leaf crown", "<svg", "event: "}
	before := r.untouched()
	attack := func(who string, paths []string, method string, want int, change func(*http.Request)) {
		t.Helper()
		for _, path := range paths {
			resp, text := r.attacked(method, path, change)
			if resp.StatusCode != want || slices.ContainsFunc(secrets, func(s string) bool { return strings.Contains(text, s) }) {
				t.Errorf("%s: %s %s gives %d\n%s", who, method, path, resp.StatusCode, text)
			}
		}
		if after := r.untouched(); after != before {
			t.Errorf("%s: %s left\n%s, not\n%s", who, method, after, before)
		}
	}
	cookie := r.cookie()
	name, value, _ := strings.Cut(cookie, "=")
	as := func(c string) func(*http.Request) { return func(q *http.Request) { q.Header.Set("Cookie", c) } }
	for who, c := range map[string]string{"another login": "", "a guess": name + "=" + strings.Repeat("A", len(value)), "a part of the cookie": cookie[:len(cookie)-1],
		"the sum that the store keeps": name + "=" + r.pagesSum()} {
		attack(who, shows, http.MethodGet, http.StatusUnauthorized, as(c))
		attack(who, moves, http.MethodPost, http.StatusUnauthorized, as(c))
	}
	for who, change := range map[string]func(*http.Request){
		"another site's form":         func(q *http.Request) { q.Header.Set("Origin", "https://stage.example") },
		"a page of no origin":         func(q *http.Request) { q.Header.Set("Origin", "null") },
		"another site, as it says":    func(q *http.Request) { q.Header.Set("Sec-Fetch-Site", "cross-site") },
		"another port of the machine": func(q *http.Request) { q.Header.Set("Origin", "http://127.0.0.1:1") },
	} {
		attack(who, moves, http.MethodPost, http.StatusForbidden, func(q *http.Request) { as(cookie)(q); change(q) })
	}
	for _, host := range []string{"stage.example", "127.0.0.1.stage.example", "localhost.stage.example:80", "wardrobe.local", "127.1"} {
		change := func(q *http.Request) { as(cookie)(q); q.Host = host }
		const want = http.StatusMisdirectedRequest
		attack("the name "+host, shows, http.MethodGet, want, change)
		attack("the name "+host, moves, http.MethodPost, want, change)
	}
	for _, path := range shows { // nor can another site show a page in a frame, or read it by a script
		if path == "/events" || strings.HasPrefix(path, "/events?") {
			continue
		}
		resp, _ := r.attacked(http.MethodGet, path, as(cookie))
		h := resp.Header
		if p := h.Get("Content-Security-Policy"); h.Get("X-Frame-Options") != "DENY" || h.Get("Cross-Origin-Resource-Policy") != "same-origin" || h.Get("X-Content-Type-Options") != "nosniff" || !strings.Contains(p, "default-src 'none'") {
			t.Errorf("%s comes with %v", path, h)
		}
	}
	// Stolen, it opens everything; withdrawn, nothing.
	if resp, text := r.attacked(http.MethodGet, "/job/1", as(cookie)); resp.StatusCode != http.StatusOK || !strings.Contains(text, "Ottilie") {
		t.Fatalf("the cookie alone: %d\n%s", resp.StatusCode, text)
	}
	if status, _ := r.post("/browsers/1/withdraw", url.Values{}); status != http.StatusUnauthorized { // the page after it asks for a code
		t.Errorf("withdrawn with %d", status)
	}
	attack("a stolen cookie, withdrawn", shows, http.MethodGet, http.StatusUnauthorized, as(cookie))
	attack("a stolen cookie, withdrawn", moves, http.MethodPost, http.StatusUnauthorized, as(cookie))
}

// scripted is a draft whose every text would run a script, were it shown as it is.
const scripted = `<?xml-stylesheet href="https://stage.example/x.css"?><svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="400mm" height="400mm" viewBox="0 0 400 400" onload="alert(1)">
<title>Hood"><script>alert(2)</script></title><script>alert(3)</script><script href="https://stage.example/a.js"/>
<foreignObject width="9" height="9"><body xmlns="http://www.w3.org/1999/xhtml"><img src="https://stage.example/i.png" onerror="alert(4)"/></body></foreignObject>
<image href="https://stage.example/i.png" width="9" height="9"/><a xlink:href="javascript:alert(5)"><text class="label" x="50" y="60">&lt;img src=x onerror=alert(6)&gt;</text></a>
<g data-piece="&lt;script&gt;alert(7)&lt;/script&gt;" data-quantity="1"><path class="cut" onclick="alert(8)" d="M 0 0 L 300 0 L 300 300 L 0 300 Z"/><line class="grain" x1="60" y1="250" x2="60" y2="80"/></g>
<g data-piece="Open"><path class="cut" d="M 310 0 L 390 0 L 390 300 L 310 280"/></g></svg>`

// TestScriptsOfADroppedDraft: a draft with scripts, links and images of another site comes back without them in every page,
// picture and report, and what is kept as it came can only be saved (WHATWG HTML 8.1.8 for handlers, CSP Level 3 sandbox).
func TestScriptsOfADroppedDraft(t *testing.T) {
	r := newShown(t, nil)
	r.drop("roll-plotter", "hood.svg", []byte(scripted), "")
	r.drop("knife-table", "hood-2.svg", []byte(strings.Replace(scripted, "L 310 280", "L 310 300 Z", 1)), "")
	ended := func(j ledger.Job) bool { return j.Ready || j.State.Ended() || j.State == ledger.Held }
	r.until(1, "judged", ended)
	r.until(2, "judged", ended)
	pages := []string{"/", "/past", "/production"}
	for _, job := range []int64{1, 2} {
		pages = append(pages, fmt.Sprintf("/job/%d", job), fmt.Sprintf("/job/%d/picture", job))
		files, err := r.shop.Jobs().Files(t.Context(), job)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range files {
			pages = append(pages, fmt.Sprintf("/job/%d/file/%s", job, f.Name))
		}
	}
	if len(pages) < 10 {
		t.Fatalf("only %q", pages)
	}
	for _, path := range pages {
		resp, text := r.attacked(http.MethodGet, path, func(q *http.Request) { q.Header.Set("Cookie", r.cookie()) })
		h := resp.Header
		if resp.StatusCode == http.StatusNotFound && strings.HasSuffix(path, "/picture") {
			continue
		}
		if strings.Contains(path, "/file/") {
			if h.Get("Content-Disposition") == "" || !strings.HasPrefix(h.Get("Content-Disposition"), "attachment") || h.Get("Content-Type") != "application/octet-stream" || !strings.Contains(h.Get("Content-Security-Policy"), "sandbox") {
				t.Errorf("%s comes with %v", path, h)
			}
			if strings.Contains(path, "original") || strings.HasSuffix(path, ".bin") || strings.HasSuffix(path, ".pdf") || strings.HasSuffix(path, ".json") || strings.HasSuffix(path, ".txt") {
				continue // as it came, or nothing that a browser runs
			}
		} else if p := h.Get("Content-Security-Policy"); strings.Contains(p, "unsafe-inline'") && !strings.Contains(p, "sandbox") || strings.Contains(p, "script-src *") {
			t.Errorf("%s has the policy %q", path, p)
		}
		for _, bad := range []string{"<script>alert", "onload=", "<img src=x", "onerror=\"", "onclick=", "javascript:", "https://stage.example", "<foreignObject", "<?xml-stylesheet"} {
			if strings.Contains(text, bad) {
				t.Errorf("%s holds %q:\n%s", path, bad, text)
			}
		}
	}
}

// TestNamesOfDroppedFiles: whatever a browser calls a file, the draft lies in the folder of the device that the form names, under a
// plain name, and a device that is no folder of the inbox gets none (OWASP: File Upload, Path Traversal).
func TestNamesOfDroppedFiles(t *testing.T) {
	r := newShown(t, nil)
	drop := func(device, name string) (int, string) {
		t.Helper()
		var body bytes.Buffer
		form := multipart.NewWriter(&body)
		_ = form.WriteField("device", device) // into memory
		part, err := form.CreatePart(textproto.MIMEHeader{"Content-Disposition": {`form-data; name="draft"; filename="` + strings.NewReplacer(`\`, `\\`, `"`, `\"`).Replace(name) + `"`}, "Content-Type": {"image/svg+xml"}})
		if err == nil {
			_, err = part.Write(samples.Read("usher-waistcoat.svg"))
		}
		if err == nil {
			err = form.Close()
		}
		if err != nil {
			t.Fatal(err)
		}
		return r.said(r.browser.Post(r.address+"/drop", form.FormDataContentType(), &body))
	}
	outside := func() (all []string) {
		t.Helper()
		err := filepath.WalkDir(filepath.Dir(r.dir), func(path string, d fs.DirEntry, err error) error {
			in, _ := filepath.Rel(r.dir, path)
			if first, _, _ := strings.Cut(filepath.ToSlash(in), "/"); err == nil && !d.IsDir() && !slices.Contains([]string{"store", "returned", "inbox", "log"}, first) && filepath.Ext(path) != ".log" {
				all = append(all, path)
			}
			return nil // a file that is being moved may be gone
		})
		if err != nil {
			t.Fatal(err)
		}
		return all
	}
	before := outside()
	job := int64(0)
	for _, name := range []string{"../../workroom.svg", "/etc/cron.d/hood.svg", `..\..\hood.svg`, "..%2f..%2fhood.svg", "../cards/ottilie.yaml", "hood.svg\x00.sh.svg", "....//....//hood.svg", "-rf.svg", ".ticket.svg"} {
		status, text := drop("roll-plotter", name)
		if strings.Contains(name, "\x00") && status == http.StatusBadRequest {
			continue // no header may hold it
		}
		if status != http.StatusOK {
			t.Errorf("%q: %d\n%s", name, status, text)
			continue
		}
		job++
		j := r.until(job, "ended", func(j ledger.Job) bool { return j.State.Ended() })
		if strings.ContainsAny(j.File, "/\\%\x00") || strings.HasPrefix(j.File, ".") || strings.HasPrefix(j.File, "-") || j.Device != "roll-plotter" {
			t.Errorf("%q became %q on %s", name, j.File, j.Device)
		}
	}
	for _, device := range []string{"../returned", "..", ".", "", "roll-plotter/../../store", "/etc", `..\store`} {
		if status, text := drop(device, "hood.svg"); status != http.StatusBadRequest {
			t.Errorf("the device %q: %d\n%s", device, status, text)
		}
	}
	for _, path := range []string{"/job/1/file/..%2f..%2fledger.db", "/job/1/file/%2e%2e%2fledger.db", "/job/1/file/..%5cledger.db", "/job/1/file/%2fetc%2fpasswd", "/static/..%2f..%2fworkroom.yaml", "/job/1/file/."} {
		if status, text := r.get(path); status < 400 || status >= 500 || strings.Contains(text, "root:") || strings.Contains(text, "SQLite") {
			t.Errorf("%s gives %d\n%s", path, status, text)
		}
	}
	if after := outside(); !slices.Equal(before, after) {
		t.Errorf("files outside the inbox:\n%q, before\n%q", after, before)
	}
}

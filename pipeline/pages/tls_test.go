package pages_test

import (
	"net/http"
	"strings"
	"testing"

	"tracewheel/pipeline/web/webtest"
)

// overTLS is the part of a workroom file by which its page speaks TLS.
func overTLS() *strings.Replacer {
	return strings.NewReplacer(`cert: ""`, "cert: page.crt", `key: ""`, "key: page.key")
}

// TestWorkroomFileNamesACertificate: the page of a workroom file that names an address, a certificate and its key is reached
// over TLS by who trusts the authority, and by nobody else.
func TestWorkroomFileNamesACertificate(t *testing.T) {
	r := newShownOver(t, overTLS(), webtest.NewCA(t))
	if !strings.HasPrefix(r.address, "https://127.0.0.1:") {
		t.Errorf("the address is %s", r.address)
	}
	if status, text := r.get("/"); status != http.StatusOK || !strings.Contains(text, "No jobs yet") || strings.Contains(text, "without encryption") {
		t.Errorf("%d\n%s", status, text)
	}
	if resp, err := http.Get(r.address + "/"); err == nil {
		_ = resp.Body.Close()
		t.Error("who does not know the authority is shown the page")
	}
}

// TestPlainIsSaidOnEveryPage: where the workroom file allows others to read along, each page says so, the door too.
func TestPlainIsSaidOnEveryPage(t *testing.T) {
	r := newShown(t, strings.NewReplacer("127.0.0.1:0", "0.0.0.0:0", "plain_http: false", "plain_http: true"))
	const said = "This page comes without encryption"
	for _, path := range []string{"/", "/drop", "/past", "/production", "/device/knife-table", "/browsers", "/desk", "/job/7"} {
		if _, text := r.get(path); !strings.Contains(text, said) {
			t.Errorf("%s does not say it:\n%s", path, text)
		}
	}
	if _, text := r.said(http.Get(r.address + "/")); !strings.Contains(text, said) || !strings.Contains(text, "Come in with a code") {
		t.Errorf("the door does not say it:\n%s", text)
	}
}

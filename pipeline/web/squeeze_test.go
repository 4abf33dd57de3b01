package web

import (
	"bytes"
	"compress/gzip"
	"io"
	"net/http"
	"strings"
	"testing"
)

// TestSqueezed: what a browser asks for comes compressed where it takes gzip (RFC 9110, 12.5.3), byte for byte the same when
// read by the standard library's reader; pictures too; a short answer and one to a browser that refuses it come as they are.
func TestSqueezed(t *testing.T) {
	r := newRig(t)
	long := strings.Repeat("<path d='M0 0L10 10'/>", 1000)
	r.Handle("GET /picture", func(w http.ResponseWriter, _ *http.Request) { Picture(w, []byte(long)) })
	r.Handle("GET /gone", func(w http.ResponseWriter, q *http.Request) { http.NotFound(w, q) })
	if r.enter(r.Door.NewCode(false)) != http.StatusSeeOther {
		t.Fatal("not let in")
	}
	for _, c := range []struct {
		path, takes string
		squeezed    bool
		status      int
	}{
		{"/picture", "gzip, deflate, br", true, http.StatusOK}, {"/picture", "gzip;q=0", false, http.StatusOK}, {"/picture", "br", false, http.StatusOK},
		{"/picture", "br, gzip;q=0.5", true, http.StatusOK}, {"/gone", "gzip", false, http.StatusNotFound},
	} {
		status, text, head := r.ask(http.MethodGet, c.path, "", func(q *http.Request) { q.Header.Set("Accept-Encoding", c.takes) })
		if is := head.Get("Content-Encoding") == "gzip"; is != c.squeezed || status != c.status {
			t.Errorf("%s to %q: %d, squeezed %v", c.path, c.takes, status, is)
			continue
		}
		if c.path != "/picture" {
			continue
		}
		if c.squeezed {
			z, err := gzip.NewReader(bytes.NewReader([]byte(text)))
			if err != nil {
				t.Fatal(err)
			}
			if len(text) > len(long)/10 {
				t.Errorf("%d bytes of %d", len(text), len(long))
			}
			all, err := io.ReadAll(z)
			if err != nil {
				t.Fatal(err)
			}
			text = string(all)
		}
		if text != long {
			t.Errorf("%s to %q came as something else", c.path, c.takes)
		}
	}
}

// TestUnpaired: a browser that releases cutters is listed, and withdrawn from that alone: it still sees the page.
func TestUnpaired(t *testing.T) {
	r := newRig(t)
	for range 2 {
		if r.enter(r.Door.NewCode(false)) != http.StatusSeeOther {
			t.Fatal("not let in")
		}
	}
	for id := 1; id <= 2; id++ {
		if err := r.Door.Pair(id, r.Door.NewCode(true)); err != nil {
			t.Fatal(err)
		}
	}
	if _, page, _ := r.ask(http.MethodGet, "/browsers", ""); strings.Count(page, `/unpair"`) != 2 {
		t.Errorf("two browsers release cutters, and the page has\n%s", page)
	}
	if got := r.Door.PairedText(); !strings.Contains(got, "browser 1, no name,") || !strings.Contains(got, "browser 2, no name,") {
		t.Errorf("the terminal lists %q", got)
	}
	if status, _, _ := r.ask(http.MethodPost, "/browsers/1/unpair", "x=y"); status != http.StatusSeeOther || r.Door.Paired(1) || !r.Door.Paired(2) {
		t.Errorf("withdrawn: %d, %v %v", status, r.Door.Paired(1), r.Door.Paired(2))
	}
	if err := r.Door.Unpair(1); err == nil || !strings.Contains(err.Error(), "browser 1 releases no cutters") {
		t.Errorf("withdrawn twice: %v", err)
	}
	if status, page, _ := r.ask(http.MethodGet, "/", ""); status != http.StatusOK || !strings.Contains(page, "bust 88") {
		t.Errorf("it sees nothing any more: %d", status)
	}
}

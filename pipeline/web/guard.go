package web

import (
	"net/http"
	"regexp"
	"strings"

	"tracewheel/pipeline/pattern"
)

// policy lets a page load from this server alone, and no scripts but its files.
const policy = "default-src 'none'; img-src 'self'; style-src 'self'; script-src 'self'; connect-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"

// guard refuses requests that come from other sites' pages or by another name, and tells browsers what a page may do.
func (s *Server) guard(next http.Handler) http.Handler {
	origin := http.NewCrossOriginProtection()
	origin.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		http.Error(w, "this was asked by a page of somebody else, so nothing was done", http.StatusForbidden)
	}))
	next = origin.Handler(next)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("X-Frame-Options", "DENY")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")
		if !s.known(r.Host) {
			http.Error(w, "this page does not go by that name; ask for it by its address, or name it in the workroom file's page: hosts", http.StatusMisdirectedRequest)
			return
		}
		if err := moving(w, r, s.o.Stall); err != nil { // a stream has no body, and stays
			http.Error(w, err.Error(), http.StatusInternalServerError)
			return
		}
		next.ServeHTTP(w, r)
	})
}

// Download sends bytes that came from outside, to be saved and not shown; if a browser shows them nevertheless, they can
// do nothing.
func Download(w http.ResponseWriter, name string, data []byte) {
	h := w.Header()
	h.Set("Content-Security-Policy", "sandbox; default-src 'none'")
	h.Set("Content-Type", "application/octet-stream")
	h.Set("Content-Disposition", `attachment; filename="`+plainName(name)+`"`)
	_, _ = w.Write(data) // the browser may be gone
}

// plainName keeps letters, digits, dots, dashes and underscores of a name.
func plainName(name string) string {
	return strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || strings.ContainsRune("._-", r) {
			return r
		}
		return '-'
	}, name)
}

// Printed sends a page of this program that needs no script: it is shown in a sandbox, in which it can run, load and send
// nothing.
func Printed(w http.ResponseWriter, html []byte) { printed(w, html, "sandbox; ") }

// Linked sends such a page with links to other pages of this server: in a sandbox the browser would ask for them without
// its cookie. It must hold nothing of a draft or a person.
func Linked(w http.ResponseWriter, html []byte) {
	printed(w, html, "form-action 'none'; base-uri 'none'; ")
}

func printed(w http.ResponseWriter, html []byte, more string) {
	h := w.Header()
	h.Set("Content-Security-Policy", more+"default-src 'none'; style-src 'unsafe-inline'; img-src data:; frame-ancestors 'none'")
	h.Set("Content-Type", "text/html; charset=utf-8")
	_, _ = w.Write(readable(html)) // the browser may be gone
}

// typed matches what a browser sends back unchanged: what a person types into, and values of forms.
var typed = regexp.MustCompile(`(?s)<textarea[^>]*>.*?</textarea>|\svalue="[^"]*"`)

// readable is a page in which names of drafts and files hold no characters that deceive a reader; what is sent back is
// left as it is.
func readable(html []byte) []byte {
	var out []byte
	at := 0
	for _, span := range append(typed.FindAllIndex(html, -1), []int{len(html), len(html)}) {
		out = append(out, pattern.Readable(string(html[at:span[0]]))...)
		out = append(out, html[span[0]:span[1]]...)
		at = span[1]
	}
	return out
}

// Picture sends an SVG that this program drew.
func Picture(w http.ResponseWriter, svg []byte) {
	h := w.Header()
	h.Set("Content-Security-Policy", "sandbox; default-src 'none'; style-src 'unsafe-inline'")
	h.Set("Content-Type", "image/svg+xml")
	_, _ = w.Write(svg) // the browser may be gone
}

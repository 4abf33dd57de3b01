package web

import (
	"net/http"

	"github.com/klauspost/compress/gzhttp"
)

// squeezedFrom is from how many bytes an answer is compressed; less fits a packet anyway.
const squeezedFrom = 1000

// squeezedKinds are texts and drawings.
var squeezedKinds = []string{"text/html", "text/css", "text/javascript", "image/svg+xml", "application/json"}

// squeeze compresses what a browser reads, by gzip (RFC 1952), where it takes that. Only what is asked for with GET is:
// the server must know an answer to an upload as its own, to end one that is too large. A stream of events is not: each
// must leave at once.
func squeeze(next http.Handler) (http.Handler, error) {
	wrap, err := gzhttp.NewWrapper(gzhttp.MinSize(squeezedFrom), gzhttp.ContentTypes(squeezedKinds), gzhttp.EnableZstd(false))
	if err != nil {
		return nil, err
	}
	squeezed := wrap(next)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method != http.MethodGet || r.URL.Path == "/events" {
			next.ServeHTTP(w, r)
			return
		}
		squeezed(w, r)
	}), nil
}

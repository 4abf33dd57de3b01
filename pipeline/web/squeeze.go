package web

import (
	"compress/gzip"
	"mime"
	"net/http"
	"slices"
	"strings"
)

// squeezedFrom is from how many bytes an answer is compressed; less fits a packet anyway.
const squeezedFrom = 1000

// squeezedKinds are texts and drawings. A stream of events is none of them: each must leave at once.
var squeezedKinds = []string{"text/html", "text/css", "text/javascript", "image/svg+xml", "application/json"}

// squeeze compresses what a browser reads, by gzip (RFC 1952), where it takes that. Only what is asked for with GET is:
// the server must know an answer to an upload as its own, to end one that is too large.
func squeeze(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method != http.MethodGet || !takesGzip(r.Header.Get("Accept-Encoding")) {
			next.ServeHTTP(w, r)
			return
		}
		s := &squeezer{ResponseWriter: w}
		next.ServeHTTP(s, r)
		if s.z != nil {
			_ = s.z.Close() // the browser may be gone
		} else if !s.begun {
			s.begin(0)
		}
	})
}

// takesGzip reads a header as RFC 9110, 12.5.3, has it: a weight of nought refuses.
func takesGzip(accept string) bool {
	for _, one := range strings.Split(accept, ",") {
		name, weight, _ := strings.Cut(one, ";")
		weight = strings.TrimSpace(weight)
		if strings.EqualFold(strings.TrimSpace(name), "gzip") {
			return !strings.HasPrefix(weight, "q=0") || strings.Trim(weight, "q=0.") != ""
		}
	}
	return false
}

// squeezer puts off the head of an answer until its first bytes tell whether it is worth compressing.
type squeezer struct {
	http.ResponseWriter
	status int
	begun  bool
	z      *gzip.Writer
}

// Unwrap leads http.ResponseController to what it controls.
func (s *squeezer) Unwrap() http.ResponseWriter { return s.ResponseWriter }

// WriteHeader notes the status.
func (s *squeezer) WriteHeader(status int) {
	if s.status == 0 {
		s.status = status
	}
}

// FlushError sends what was written so far.
func (s *squeezer) FlushError() error {
	s.begin(0)
	if s.z != nil {
		if err := s.z.Flush(); err != nil {
			return err
		}
	}
	return http.NewResponseController(s.ResponseWriter).Flush()
}

func (s *squeezer) Write(b []byte) (int, error) {
	s.begin(len(b))
	if s.z != nil {
		return s.z.Write(b)
	}
	return s.ResponseWriter.Write(b)
}

// begin sends the head of an answer whose first bytes are so many.
func (s *squeezer) begin(first int) {
	if s.begun {
		return
	}
	s.begun = true
	h := s.Header()
	if kind, _, err := mime.ParseMediaType(h.Get("Content-Type")); err == nil && slices.Contains(squeezedKinds, kind) && h.Get("Content-Encoding") == "" {
		h.Add("Vary", "Accept-Encoding")
		if first >= squeezedFrom {
			h.Set("Content-Encoding", "gzip")
			h.Del("Content-Length")
			s.z = gzip.NewWriter(s.ResponseWriter)
		}
	}
	if s.status != 0 {
		s.ResponseWriter.WriteHeader(s.status)
	}
}

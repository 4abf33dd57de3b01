package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"sync"
	"time"
)

// Events passes what happens on to the pages that listen (server-sent events, HTML Living Standard 9.2). Of
// one key a slow page gets the last word only.
type Events struct {
	mu      sync.Mutex
	streams map[*stream]bool
	closed  bool
}

// streamsKept bounds the streams; beat is how often a silent one says that it lives, writeLimit how long it may
// take a word.
const (
	streamsKept = 200
	beat        = 20 * time.Second
	writeLimit  = 10 * time.Second
)

type stream struct {
	mu      sync.Mutex
	keys    []string
	pending map[string][]byte
	wake    chan struct{}
}

func newEvents() *Events { return &Events{streams: map[*stream]bool{}} }

// Listeners is how many pages listen; where it is none, nobody need find out what to say.
func (e *Events) Listeners() int {
	e.mu.Lock()
	defer e.mu.Unlock()
	return len(e.streams)
}

// Publish says an event of a name to all pages. A later one of the same name and key takes the place of one
// that a page has not got yet.
func (e *Events) Publish(name, key string, data any) {
	text, err := json.Marshal(data)
	if err != nil {
		return // none of ours
	}
	message := fmt.Appendf(nil, "event: %s\ndata: %s\n\n", name, text)
	e.mu.Lock()
	defer e.mu.Unlock()
	for s := range e.streams {
		s.put(name+" "+key, message)
	}
}

func (s *stream) put(key string, message []byte) {
	s.mu.Lock()
	if _, waits := s.pending[key]; !waits {
		s.keys = append(s.keys, key)
	}
	s.pending[key] = message
	s.mu.Unlock()
	select {
	case s.wake <- struct{}{}:
	default:
	}
}

func (s *stream) take() []byte {
	s.mu.Lock()
	defer s.mu.Unlock()
	var all [][]byte
	for _, k := range s.keys {
		all = append(all, s.pending[k])
	}
	s.keys, s.pending = nil, map[string][]byte{}
	return slices.Concat(all...)
}

func (e *Events) close() {
	e.mu.Lock()
	defer e.mu.Unlock()
	e.closed = true
	for s := range e.streams {
		delete(e.streams, s)
		close(s.wake)
	}
}

// recheck has every stream look now whether it may still be heard.
func (e *Events) recheck() {
	e.mu.Lock()
	defer e.mu.Unlock()
	for s := range e.streams {
		select {
		case s.wake <- struct{}{}:
		default:
		}
	}
}

func (e *Events) listen() *stream {
	e.mu.Lock()
	defer e.mu.Unlock()
	if e.closed || len(e.streams) >= streamsKept {
		return nil
	}
	s := &stream{pending: map[string][]byte{}, wake: make(chan struct{}, 1)}
	e.streams[s] = true
	return s
}

func (e *Events) leave(s *stream) {
	e.mu.Lock()
	defer e.mu.Unlock()
	delete(e.streams, s)
}

// serve is one page's stream, until it hangs up or its session is withdrawn.
func (e *Events) serve(w http.ResponseWriter, r *http.Request, may func() bool) {
	s := e.listen()
	if s == nil {
		http.Error(w, "too many pages listen, or the program is ending", http.StatusServiceUnavailable)
		return
	}
	defer e.leave(s)
	w.Header().Set("Content-Type", "text/event-stream")
	out := http.NewResponseController(w)
	say := func(text []byte) bool {
		if err := out.SetWriteDeadline(time.Now().Add(writeLimit)); err != nil {
			return false
		}
		_, err := w.Write(text)
		return err == nil && out.Flush() == nil
	}
	ticker := time.NewTicker(beat)
	defer ticker.Stop()
	if !say([]byte("retry: 3000\n\n")) {
		return
	}
	for {
		select {
		case <-r.Context().Done():
			return
		case _, open := <-s.wake:
			if !open || !may() || !say(s.take()) {
				return
			}
		case <-ticker.C:
			if !may() || !say([]byte(": here\n\n")) {
				return
			}
		}
	}
}

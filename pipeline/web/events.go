package web

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strconv"
	"sync"
	"time"
)

// Events sends events to the pages that listen (server-sent events, HTML Living Standard 9.2). Of events with one name and
// key, a slow page gets only the last.
type Events struct {
	// Begin gives the first events of a stream for a page that has all up to the number after; nil gives none. What is
	// published later follows. It is set before Start.
	Begin func(ctx context.Context, after int64) ([]Message, error)

	mu      sync.Mutex
	streams map[*stream]bool
	closed  bool
}

// Message is one event. Of those with one name and key, a slow page gets only the last.
type Message struct {
	Name, Key string
	// No is the number by which a page that lost its stream says what it has (HTML Living Standard 9.2.6), 0 for none.
	No   int64
	Data any
}

// text is the event as it is sent, nil for one that cannot be, which this program does not make.
func (m Message) text() []byte {
	data, err := json.Marshal(m.Data)
	if err != nil {
		return nil
	}
	id := ""
	if m.No > 0 {
		id = fmt.Sprintf("id: %d\n", m.No)
	}
	return fmt.Appendf(nil, "event: %s\n%sdata: %s\n\n", m.Name, id, data)
}

// streamsKept is the most streams; beat is the time between two signs of life on a silent one, writeLimit the longest time
// of one write.
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

// Listeners is the number of pages that listen; with 0 there is no need to work out events.
func (e *Events) Listeners() int {
	e.mu.Lock()
	defer e.mu.Unlock()
	return len(e.streams)
}

// Publish sends an event to all pages. It replaces an event of the same name and key that a page has not got yet.
func (e *Events) Publish(m Message) {
	text := m.text()
	e.mu.Lock()
	defer e.mu.Unlock()
	for s := range e.streams {
		s.put(m.Name+" "+m.Key, text)
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

// recheck has every stream check now whether its session still exists.
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

// serve is one page's stream, until the page closes it or its session is withdrawn.
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
	begin, err := e.beginning(r)
	if err != nil || !say(append([]byte("retry: 3000\n\n"), begin...)) {
		return // the page asks again
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

// beginning gives the first events of a stream, which listens already, so that nothing is missed between.
func (e *Events) beginning(r *http.Request) (text []byte, err error) {
	if e.Begin == nil {
		return nil, nil
	}
	after := cmp.Or(r.Header.Get("Last-Event-ID"), r.URL.Query().Get("after"))
	no, err := strconv.ParseInt(after, 10, 64)
	if err != nil {
		no = math.MaxInt64 // it has no number, and wants nothing from before
	}
	all, err := e.Begin(r.Context(), no)
	for _, m := range all {
		text = append(text, m.text()...)
	}
	return text, err
}

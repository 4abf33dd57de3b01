package web

import (
	"cmp"
	"context"
	"crypto/rand"
	"crypto/subtle"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"net/http"
	"os"
	"slices"
	"strings"
	"sync"
	"time"
)

// A code is valid for a few minutes. A client that has tried so many wrong ones in that time may try again only after a
// pause. A session ends so long after it was last used.
const (
	codeLasts    = 5 * time.Minute
	codeTries    = 5
	codePause    = 2 * time.Second
	sessionLasts = 90 * 24 * time.Hour
	sessionsKept = 100
)

// Door keeps which browsers may see pages. Its file holds hashes only, so that a person who reads it cannot come in.
// Pairings, by which a page may release jobs of a cutter, are kept in memory and end with the program.
type Door struct {
	file string
	now  func() time.Time

	mu       sync.Mutex
	sessions []Session
	codes    []code
	wrong    map[string]guesses // by client
	// withdrawn is called after sessions were ended.
	withdrawn func()
	paired    map[int]bool
	last      int // the highest number ever given, because none is given twice
	cookie    string
}

type code struct {
	text  string
	pairs bool // for pages that release cutters; otherwise for a browser to come in
	guest bool // the browser comes in as a guest
	until time.Time
}

// guesses are the wrong codes of one client, and the time of the last.
type guesses struct {
	n     int
	heard time.Time
}

// ErrGuess means that a client has tried too many wrong codes and must wait.
var ErrGuess = errors.New("too many wrong codes came from there; wait some seconds, then try again")

// ErrCode means that a code is wrong, used or too old.
var ErrCode = errors.New("this code is not good, or not any more; the terminal gives a new one")

func openDoor(file string, now func() time.Time) (*Door, error) {
	// Browsers keep one set of cookies for all ports of a machine, so each server's cookie has a name of its own.
	d := &Door{file: file, now: now, paired: map[int]bool{}, wrong: map[string]guesses{}, withdrawn: func() {}, cookie: "tracewheel-" + hashOf(file)[:8]}
	text, err := os.ReadFile(file)
	if errors.Is(err, fs.ErrNotExist) {
		return d, nil
	}
	if err == nil {
		err = json.Unmarshal(text, &d.sessions)
	}
	if err != nil {
		return nil, fmt.Errorf("reading who may see the page: %w; remove %q, and each browser comes in by a new code", err, file)
	}
	return d, nil
}

// alphabet leaves out characters that are easily misread: 0 and O, 1, I and L, U beside V.
const alphabet = "23456789ABCDEFGHJKMNPQRSTVWXYZ"

// NewCode gives a code by which one browser comes in or, with pairs, one page may release cutters.
func (d *Door) NewCode(pairs bool) string { return d.newCode(code{pairs: pairs}) }

func (d *Door) newCode(c code) string {
	b := make([]byte, 10)
	for i := range b {
		b[i] = alphabet[pick(len(alphabet))]
	}
	c.text = string(b[:5]) + "-" + string(b[5:])
	d.mu.Lock()
	defer d.mu.Unlock()
	d.forgetOld()
	c.until = d.now().Add(codeLasts)
	d.codes = append(d.codes, c)
	return c.text
}

// pick is a random number below n; all are equally likely.
func pick(n int) int {
	var b [1]byte
	for {
		_, _ = rand.Read(b[:]) // never fails
		if v := int(b[0]); v < 256-256%n {
			return v % n
		}
	}
}

func (d *Door) forgetOld() {
	d.codes = slices.DeleteFunc(d.codes, func(c code) bool { return !d.now().Before(c.until) })
	maps.DeleteFunc(d.wrong, func(_ string, g guesses) bool { return d.now().Sub(g.heard) >= codeLasts })
}

// use takes a code that a client tried, which is then used up. Wrong codes count against that client alone: an outsider
// must not be able to keep others out.
func (d *Door) use(text string, pairs bool, client string) (code, error) {
	text = strings.ToUpper(strings.TrimSpace(text))
	d.forgetOld()
	g := d.wrong[client]
	if g.n >= codeTries && d.now().Sub(g.heard) < codePause {
		return code{}, ErrGuess
	}
	for i, c := range d.codes {
		if c.pairs == pairs && subtle.ConstantTimeCompare([]byte(c.text), []byte(text)) == 1 {
			d.codes = slices.Delete(d.codes, i, i+1)
			return c, nil
		}
	}
	d.wrong[client] = guesses{g.n + 1, d.now()}
	return code{}, ErrCode
}

// Enter gives a browser with a code a session, and the value of its cookie, which is kept nowhere here. client is such as
// an address. The errors are ErrCode and ErrGuess.
func (d *Door) Enter(text, agent, client string) (cookie string, err error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	used, err := d.use(text, false, client)
	if err != nil {
		return "", err
	}
	cookie = rand.Text() + rand.Text()
	now := d.now()
	s := Session{ID: d.last + 1, Hash: hashOf(cookie), Since: now, Used: now, Agent: cut(agent, 120), Guest: used.guest}
	for _, other := range d.sessions {
		s.ID = max(s.ID, other.ID+1)
	}
	d.last = s.ID
	kept := slices.DeleteFunc(slices.Clone(d.sessions), func(o Session) bool { return now.Sub(o.Used) > sessionLasts })
	if len(kept) >= sessionsKept {
		kept = kept[1:]
	}
	if err := d.keep(append(kept, s)); err != nil {
		return "", err
	}
	return cookie, nil
}

// Pair lets a session's pages release cutters until the program ends. Its code comes from the terminal at the
// machine.
func (d *Door) Pair(id int, text string) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if _, err := d.use(text, true, fmt.Sprintf("session %d", id)); err != nil {
		return err
	}
	if !slices.ContainsFunc(d.sessions, func(s Session) bool { return s.ID == id }) {
		return ErrCode // the session was withdrawn meanwhile
	}
	d.paired[id] = true
	return nil
}

// Paired tells whether a session's pages may release cutters.
func (d *Door) Paired(id int) bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.paired[id]
}

// Unpair takes a session's leave to release cutters back; its pages are shown on.
func (d *Door) Unpair(id int) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if !d.paired[id] {
		return fmt.Errorf("browser %d releases no cutters; `tracewheel devices --pair --list` lists those that do", id)
	}
	delete(d.paired, id)
	return nil
}

// PairedText lists for a terminal the browsers that release cutters, a line each.
func (d *Door) PairedText() string {
	d.mu.Lock()
	defer d.mu.Unlock()
	var lines []string
	for _, s := range d.sessions {
		if d.paired[s.ID] {
			lines = append(lines, fmt.Sprintf("browser %d, %s, since %s, %s", s.ID, cmp.Or(s.Who, "no name"), s.Since.Local().Format("2 Jan 2006 15:04"), s.Agent))
		}
	}
	if lines == nil {
		return "no browser releases cutters"
	}
	return strings.Join(lines, "\n")
}

func cut(s string, n int) string {
	if letters := []rune(s); len(letters) > n {
		return string(letters[:n])
	}
	return s
}

// behindDoor serves a handler to browsers with a session, and the page for a code to others. A form is read whole before
// the session is looked at, so that a slow one is not carried out after its browser was withdrawn.
func (s *Server) behindDoor(limit int64, h http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		session, ok := s.Door.session(r)
		if ok && r.Method == http.MethodPost {
			// A browser reads the answer only when it has sent all: the rest of a refused body is read, up to some size.
			whole := r.Body
			defer func() { _, _ = io.CopyN(io.Discard, whole, 4*limit) }() // it may be at its end
			r.Body = http.MaxBytesReader(w, r.Body, limit)
			if err := r.ParseForm(); err != nil {
				status, text := BodyFault(err, limit)
				s.Problem(w, r, status, "Not done", "what the page sends: "+text)
				return
			}
			session, ok = s.Door.session(r)
		}
		if !ok {
			next := ""
			if r.Method == http.MethodGet {
				next = r.URL.RequestURI()
			}
			s.showDoor(w, r, http.StatusUnauthorized, door{Next: next})
			return
		}
		r = r.WithContext(context.WithValue(r.Context(), sessionKey{}, session))
		h.ServeHTTP(w, r)
		if r.MultipartForm != nil { // the server knows the request only without its session
			_ = r.MultipartForm.RemoveAll()
		}
	})
}

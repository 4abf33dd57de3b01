package web

import (
	"bytes"
	"context"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"time"

	"tracewheel/pipeline/store"
)

// Session is a browser that came in by a code.
type Session struct {
	ID    int       `json:"id"`
	Hash  string    `json:"hash"` // SHA-256 of its cookie, in hex
	Since time.Time `json:"since"`
	Used  time.Time `json:"used"`
	Agent string    `json:"agent"` // what the browser calls itself
	// Who is the name that a person gave there, empty for none.
	Who string `json:"who,omitempty"`
	// Guest is true for a browser that came in by a guest's code: it can let no other in, and end no session but its own.
	Guest bool `json:"guest,omitempty"`
}

// Sessions lists the browsers that may see pages.
func (d *Door) Sessions() []Session {
	d.mu.Lock()
	defer d.mu.Unlock()
	return slices.Clone(d.sessions)
}

// Withdraw ends a session, or all with 0.
func (d *Door) Withdraw(id int) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	kept := slices.DeleteFunc(slices.Clone(d.sessions), func(s Session) bool { return id == 0 || s.ID == id })
	if len(kept) == len(d.sessions) && id != 0 {
		return fmt.Errorf("no browser has the number %d", id)
	}
	for _, s := range d.sessions {
		if id == 0 || s.ID == id {
			delete(d.paired, s.ID)
		}
	}
	err := d.keep(kept)
	if err == nil {
		d.withdrawn()
	}
	return err
}

// Name keeps the name that a person gave in a session.
func (d *Door) Name(id int, who string) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	all := slices.Clone(d.sessions)
	for i := range all {
		if all[i].ID == id {
			all[i].Who = who
		}
	}
	return d.keep(all)
}

// keep writes the sessions to the file, all or none, and then uses them.
func (d *Door) keep(all []Session) error {
	text, err := json.MarshalIndent(all, "", " ")
	if err != nil {
		return err
	}
	if _, err := store.SaveFile(store.Disk{}, d.file, bytes.NewReader(text), store.PrivateFile); err != nil {
		return fmt.Errorf("keeping who may see the page: %w", err)
	}
	d.sessions = all
	return nil
}

// session gives the session of a request's cookie.
func (d *Door) session(r *http.Request) (Session, bool) {
	c, err := r.Cookie(d.cookie)
	if err != nil {
		return Session{}, false
	}
	hash := hashOf(c.Value)
	d.mu.Lock()
	defer d.mu.Unlock()
	for i, s := range d.sessions {
		if subtle.ConstantTimeCompare([]byte(s.Hash), []byte(hash)) != 1 {
			continue
		}
		now := d.now()
		if now.Sub(s.Used) > sessionLasts {
			return Session{}, false
		}
		if now.Sub(s.Used) > 24*time.Hour {
			d.sessions[i].Used = now
			_ = d.keep(slices.Clone(d.sessions)) // it is tried again tomorrow
		}
		return s, true
	}
	return Session{}, false
}

func hashOf(cookie string) string {
	sum := sha256.Sum256([]byte(cookie))
	return hex.EncodeToString(sum[:])
}

type sessionKey struct{}

// SessionOf is the session by which a request came in.
func SessionOf(r *http.Request) Session { return SessionIn(r.Context()) }

// SessionIn is SessionOf for a request's context.
func SessionIn(ctx context.Context) Session {
	s, _ := ctx.Value(sessionKey{}).(Session)
	return s
}

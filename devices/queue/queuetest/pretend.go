package queuetest

import (
	"encoding/binary"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
)

// Pretend is a print server that says what a test has it say, without CUPS: IPP on loopback, and scripts in the place of
// CUPS's programs. They run in Dir, where each writes a line with its arguments into the file NAME.asked.
type Pretend struct {
	Dir   string
	mu    sync.Mutex
	asked map[uint16]int
}

// StartPretend starts one and points this process at it (PATH). answer gets the number of the operation (RFC 8011,
// 5.4.15); scripts are for sh, by the program's name.
func StartPretend(t *testing.T, answer func(operation uint16) []byte, scripts map[string]string) *Pretend {
	t.Helper()
	p := &Pretend{Dir: t.TempDir(), asked: map[uint16]int{}}
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		question, err := io.ReadAll(io.LimitReader(r.Body, 1<<20))
		if err != nil || len(question) < 8 {
			http.Error(w, "no question", http.StatusBadRequest)
			return
		}
		operation := binary.BigEndian.Uint16(question[2:])
		p.mu.Lock()
		p.asked[operation]++
		p.mu.Unlock()
		_, _ = w.Write(answer(operation))
	}))
	t.Cleanup(server.Close)
	all := map[string]string{"lpstat": "echo " + strings.TrimPrefix(server.URL, "http://")}
	for name, script := range scripts {
		all[name] = script
	}
	for name, script := range all {
		text := "#!/bin/sh\ncd '" + p.Dir + "' || exit 9\necho \"$*\" >> " + name + ".asked\n" + script + "\n"
		if err := os.WriteFile(filepath.Join(p.Dir, name), []byte(text), 0o700); err != nil {
			t.Fatal(err)
		}
	}
	t.Setenv("PATH", p.Dir+string(os.PathListSeparator)+os.Getenv("PATH"))
	return p
}

// Asked is how often an operation was asked for.
func (p *Pretend) Asked(operation uint16) int {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.asked[operation]
}

// Ran is how often a program was run.
func (p *Pretend) Ran(name string) int {
	all, _ := os.ReadFile(filepath.Join(p.Dir, name+".asked"))
	return strings.Count(string(all), "\n")
}

// Until waits until something is so.
func Until(t *testing.T, what string, is func() bool) {
	t.Helper()
	for end := time.Now().Add(time.Minute); !is(); time.Sleep(20 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("it never comes to this: %s", what)
		}
	}
}

// Has tells whether a file lies in Dir.
func (p *Pretend) Has(name string) bool {
	_, err := os.Stat(filepath.Join(p.Dir, name))
	return err == nil
}

// JobAnswer is an answer that tells of one job, by RFC 8010; with the number 0 of none.
func JobAnswer(id, state uint32, title string) []byte {
	b := []byte{2, 0, 0, 0, 0, 0, 0, 1, 0x01}
	if id > 0 {
		b = append(b, 0x02)
		b = Attribute(b, 0x21, "job-id", string(binary.BigEndian.AppendUint32(nil, id)))
		b = Attribute(b, 0x42, "job-name", title)
		b = Attribute(b, 0x23, "job-state", string(binary.BigEndian.AppendUint32(nil, state)))
	}
	return append(b, 0x03)
}

// Attribute appends an attribute with one value; an empty name makes it a further value of the one before.
func Attribute(b []byte, tag byte, name, value string) []byte {
	b = append(b, tag)
	for _, s := range []string{name, value} {
		b = append(binary.BigEndian.AppendUint16(b, uint16(len(s))), s...)
	}
	return b
}

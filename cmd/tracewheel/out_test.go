package main

import (
	"bytes"
	"encoding/json"
	"io/fs"
	"os"
	"strings"
	"testing"
	"unicode"

	"tracewheel/config/samples"
	"tracewheel/pipeline/terminal"
)

// TestNoControlCharacters: what a draft brings in its names, ECMA-48 sequences and marks that turn the direction of
// writing, reaches no terminal and no page as it stands, whichever verb shows it; a program reads it from JSON whole.
func TestNoControlCharacters(t *testing.T) {
	t.Setenv("TRACEWHEEL_CONFIG", "")
	t.Chdir(t.TempDir())
	const played = "\x1b]0;owned\x07\u009b2J\u202e"
	sample, err := fs.ReadFile(samples.Drafts(), "box-bag.yaml")
	if err != nil {
		t.Fatal(err)
	}
	draft := strings.NewReplacer("style: Sailmaker's bag", `style: "Bag \e]0;owned\a\x9b2J\u202e"`,
		"wearer: the sailmaker", `wearer: "who \e]0;owned\a\x9b2J\u202e"`).Replace(string(sample))
	wrong := strings.Replace(draft, "casing: 2.5", `"cas\e]0;owned\a\u202e": "\e[2J"`, 1)
	for name, text := range map[string]string{"bag.yaml": draft, "wrong.yaml": wrong} {
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	plays := func(what, text string) {
		t.Helper()
		for _, r := range text {
			if r != '\n' && (unicode.IsControl(r) || r == '\u202e') {
				t.Errorf("%s has %U raw:\n%q", what, r, text)
				return
			}
		}
	}
	for _, args := range []string{
		"check bag.yaml", "check bag.yaml --format json", "check wrong.yaml", "check wrong.yaml --format json",
		"figures bag.yaml", "figures bag.yaml --format json", "figures wrong.yaml", "figures no\x1bfile.yaml",
		"lay bag.yaml", "lay bag.yaml --format json", "convert wrong.yaml", "export wrong.yaml --out b.svg",
		"sheets bag.yaml --out bag.pdf", "figures bag.yaml --out bag.html", "figures bag.yaml --out bag-figures.pdf",
		"check bag.yaml --out report.pdf", "picture bag.yaml --out bag.svg", "jobs \x1b[2J",
	} {
		var out, errOut bytes.Buffer
		status := run(strings.Split(args, " "), strings.NewReader(""), &out, &errOut)
		plays(args+": standard output", out.String())
		plays(args+": standard error", errOut.String())
		if args == "check bag.yaml --format json" || args == "figures bag.yaml --format json" {
			if status != 0 || !json.Valid(out.Bytes()) || !strings.Contains(unescaped(t, out.Bytes()), played) {
				t.Errorf("%s: status %d; no JSON from which the name is read: %s%s", args, status, out.String(), errOut.String())
			}
		}
	}
	for _, page := range []string{"bag.html", "bag.svg"} {
		data, err := os.ReadFile(page)
		if err != nil {
			t.Fatal(err)
		}
		plays(page, string(data))
	}
}

// unescaped is all strings of JSON, as encoding/json reads them.
func unescaped(t *testing.T, data []byte) string {
	t.Helper()
	var b strings.Builder
	for d := json.NewDecoder(bytes.NewReader(data)); ; {
		v, err := d.Token()
		if err != nil {
			return b.String()
		}
		if s, ok := v.(string); ok {
			b.WriteString(s)
		}
	}
}

// TestProgramsAreNotTouched: bytes of a device go to standard output as they are.
func TestProgramsAreNotTouched(t *testing.T) {
	var out bytes.Buffer
	want := []byte("\x1b.(;IN;\x03\xff\x00")
	if _, err := terminal.Raw(terminal.Screen{To: &out}).Write(want); err != nil || !bytes.Equal(out.Bytes(), want) {
		t.Errorf("%q, %v", out.Bytes(), err)
	}
}

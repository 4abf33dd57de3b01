package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// oldWords are words and sentences that readers stumbled over, each with the one that stands there now. None
// may come back in a text that a person reads: help, messages, pages, README, reference and workroom file.
var oldWords = []struct{ old, now string }{
	{`bytes that a device would be sent`, "the plotter or cutter file"},
	{`draw what would be drawn`, "make a picture"},
	{`a list to chalk it from`, "a chalking list"},
	{`The trial is a job of its own`, "a separate job"},
	{`go once round`, "trace the outer rectangle"},
	{`let a stopped job go on`, "continue a stopped job"},
	{`gives? the blade its heading[^;]`, "line the blade up"},
	{`the device itself holds`, "the machine's own buffer"},
	{`tell how each device is`, "list devices"},
	{`what a ruler says`, "your ruler measurements"},
	{`the calibration in force back`, "undo the current calibration"},
	{`what is sent for 1 of each`, "correction factors"},
	{`the page is told as`, "the roll will feed"},
	{`nobody can say yet`, "wait for it to end"},
	{`which says what is known of it`, "restart, then show"},
	{`[Ii]s it so that`, "a plain question"},
	{`nobody states`, "is not given"},
	{`if it is meant to change`, "if the taper is intended"},
	{`^nothing, if `, "no action needed if"},
	{`nothing need be done`, "no action needed"},
	{`nothing to say`, "no faults found"},
	{`is no unit\b`, "unknown unit"},
	{`told of one side of a seam`, "give them on one side of a seam"},
	{`\b(your|person's) go\b`, "release"},
	{`\blet go\b`, "release"},
	{`\b(your|person's) word\b`, "release"},
	{`^to mend$|^look at$`, "error, warning, note, question"},
	{`c[ao]mes? back with|[Dd]raft that came back|what came back`, "refused"},
	{`copy %d of %d|copy \d+ of \d+`, "cut 1 on the fold; cut 2, a pair"},
	{`size chorus`, "for chorus 4"},
	{`\bpromises?\b|\bpromised\b`, "check: kept, differs, not known"},
	{`square (in|cm|mm) net|square %s net`, "sq in, net"},
	{`\b1 (notches|pieces|strokes|jobs)\b`, "1 notch"},
}

// TestOldWords: no old word in any text that a person reads.
func TestOldWords(t *testing.T) {
	var forms []*regexp.Regexp
	for _, w := range oldWords {
		forms = append(forms, regexp.MustCompile(w.old))
	}
	texts := 0
	look := func(where, text string) {
		texts++
		for i, form := range forms {
			if hit := form.FindString(text); hit != "" {
				t.Errorf("%s says %q; say it as in %q", where, hit, oldWords[i].now)
			}
		}
	}
	root := filepath.Join("..", "..")
	err := filepath.WalkDir(root, func(file string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && (d.Name() == "testdata" || strings.HasPrefix(d.Name(), ".") && d.Name() != ".."):
			return filepath.SkipDir
		case strings.HasSuffix(file, "_test.go") || d.Name() == "DEVELOPERS.md":
			return nil
		}
		switch filepath.Ext(file) {
		case ".md", ".html", ".yaml":
			text, err := os.ReadFile(file)
			if err != nil {
				return err
			}
			look(file, string(text))
		case ".go":
			set := token.NewFileSet()
			f, err := parser.ParseFile(set, file, nil, 0)
			if err != nil {
				return err
			}
			ast.Inspect(f, func(n ast.Node) bool {
				if lit, ok := n.(*ast.BasicLit); ok && lit.Kind == token.STRING {
					if text, err := strconv.Unquote(lit.Value); err == nil && !strings.HasPrefix(text, "json:") {
						look(set.Position(lit.Pos()).String(), text)
					}
				}
				return true
			})
		}
		return nil
	})
	if err != nil || texts < 3000 {
		t.Fatalf("%d texts looked at: %v", texts, err)
	}
}

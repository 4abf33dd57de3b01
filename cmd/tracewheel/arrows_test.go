package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// arrows says which rooms each room may import, by the first pattern that matches its path. Rooms of
// one level do not know each other; the one who chooses sits above those chosen from.
var arrows = []struct {
	room string
	may  []string
}{
	{"geom/letters", []string{"geom"}},
	{"geom/offset", []string{"geom"}},
	{"geom", nil},
	{"devices/knife/blade", []string{"devices", "geom"}},
	{"devices/flow", []string{"devices"}},
	{"devices/port", []string{"devices", "devices/flow"}},
	{"devices/*", []string{"devices", "geom", "geom/letters"}},
	{"devices", []string{"geom"}},
	{"config/samples", nil},
	{"config", []string{"devices", "geom"}},
	{"pipeline/pattern", []string{"config", "devices", "geom", "geom/offset"}},
	{"pipeline/look", []string{"pipeline/pattern", "geom"}},
	{"pipeline/store/faultfs", []string{"pipeline/store"}},
	{"pipeline/store", []string{"config", "devices", "geom"}},
	{"pipeline/ledger", []string{"config", "devices", "geom", "pipeline/pattern"}},
	{"pipeline/draft/roles", []string{"pipeline/pattern"}},
	{"pipeline/draft/assemble", []string{"pipeline/pattern", "geom"}},
	{"pipeline/draft/measured/sentence", []string{"config"}},
	{"pipeline/draft/measured/curve", []string{"geom"}},
	{"pipeline/draft/measured/tree", []string{"pipeline/draft/measured/sentence", "pipeline/draft/measured/curve", "pipeline/pattern", "geom"}},
	{"pipeline/draft/measured/drafting", []string{"pipeline/draft/measured/sentence", "pipeline/draft/measured/curve", "pipeline/draft/measured/tree", "pipeline/pattern", "geom"}},
	{"pipeline/draft/measured/darts", []string{"pipeline/draft/measured/sentence", "pipeline/draft/measured/curve", "pipeline/draft/measured/tree", "pipeline/draft/measured/drafting", "geom"}},
	{"pipeline/draft/measured/pleats", []string{"pipeline/draft/measured/sentence", "pipeline/draft/measured/curve", "pipeline/draft/measured/tree", "pipeline/draft/measured/drafting", "pipeline/draft/measured/darts", "geom"}},
	{"pipeline/draft/measured/panels", []string{"pipeline/draft/measured/sentence", "pipeline/draft/measured/curve", "pipeline/draft/measured/tree", "pipeline/draft/measured/drafting", "pipeline/draft/measured/darts", "pipeline/draft/measured/pleats", "geom"}},
	{"pipeline/draft/measured/pieces", []string{"pipeline/draft/measured/sentence", "pipeline/draft/measured/curve", "pipeline/draft/measured/tree", "pipeline/draft/measured/drafting", "pipeline/draft/measured/darts", "pipeline/draft/measured/pleats", "pipeline/draft/measured/panels", "pipeline/pattern", "geom", "geom/offset"}},
	{"pipeline/draft/measured/sewn", []string{"pipeline/draft/measured/sentence", "pipeline/draft/measured/curve", "pipeline/draft/measured/tree", "pipeline/draft/measured/drafting", "pipeline/draft/measured/pieces", "pipeline/pattern", "config"}},
	{"pipeline/draft/measured/figures", []string{"pipeline/draft/measured/sentence", "pipeline/draft/measured/curve", "pipeline/draft/measured/tree", "pipeline/draft/measured/drafting", "pipeline/draft/measured/pieces", "pipeline/draft/measured/sewn", "pipeline/look", "pipeline/pattern", "geom", "geom/offset"}},
	{"pipeline/draft/measured", []string{"pipeline/draft/measured/*", "pipeline/pattern"}},
	{"pipeline/draft/*", []string{"pipeline/draft/assemble", "pipeline/draft/roles", "pipeline/pattern", "config", "geom"}},
	{"pipeline/draft", []string{"pipeline/draft/*", "pipeline/pattern", "config", "geom"}},
	{"pipeline/job", []string{"pipeline/control", "pipeline/ledger", "pipeline/pattern", "devices"}},
	{"pipeline/reading", []string{"pipeline/control", "pipeline/inbox", "pipeline/ledger", "pipeline/store", "pipeline/trusted", "config"}},
	{"pipeline/testsquare", []string{"pipeline/control", "pipeline/ledger", "pipeline/look", "pipeline/pattern", "pipeline/picture", "pipeline/reading", "pipeline/store", "config", "devices", "devices/calibration", "geom"}},
	{"pipeline/making", []string{"pipeline/check", "pipeline/control", "pipeline/draft", "pipeline/job", "pipeline/lay", "pipeline/ledger", "pipeline/look", "pipeline/pattern", "pipeline/picture", "pipeline/plan", "pipeline/prepare", "pipeline/report", "pipeline/store", "pipeline/testsquare", "config", "devices", "devices/gcode", "devices/hpgl", "devices/knife", "devices/knife/blade", "geom"}},
	{"pipeline/newroom", []string{"pipeline/draft", "pipeline/store", "config", "config/samples"}},
	{"pipeline/*", []string{"pipeline/look", "pipeline/pattern", "pipeline/store", "pipeline/ledger", "config", "devices", "geom", "geom/letters", "geom/offset"}},
	{"pipeline", []string{"pipeline/*", "pipeline/draft/measured", "config", "config/samples", "devices", "devices/*", "devices/knife/blade", "geom", "geom/letters"}},
	{"cmd/tracewheel", []string{"pipeline", "pipeline/*", "config", "devices", "geom"}},
}

// TestArrows holds the one direction of imports.
func TestArrows(t *testing.T) {
	root := filepath.Join("..", "..")
	rooms := 0
	err := filepath.WalkDir(root, func(file string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(file, ".go") || strings.HasSuffix(file, "_test.go") {
			return err
		}
		rel, err := filepath.Rel(root, filepath.Dir(file))
		if err != nil {
			return err
		}
		room := filepath.ToSlash(rel)
		rule := slices.IndexFunc(arrows, func(a struct {
			room string
			may  []string
		}) bool {
			return matches(a.room, room)
		})
		if rule < 0 {
			t.Errorf("%s is in a room that no arrow names", file)
			return nil
		}
		rooms++
		f, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		for _, imp := range f.Imports {
			to, ok := strings.CutPrefix(strings.Trim(imp.Path.Value, `"`), "tracewheel/")
			if ok && !slices.ContainsFunc(arrows[rule].may, func(p string) bool { return matches(p, to) }) {
				t.Errorf("%s imports %s, against the arrows", file, to)
			}
		}
		return nil
	})
	if err != nil || rooms < 50 {
		t.Fatalf("%d files looked at: %v", rooms, err)
	}
}

// matches compares a path with a pattern in which * is one part of a path.
func matches(pattern, room string) bool {
	ok, err := path.Match(pattern, room)
	return err == nil && ok
}

package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"go/ast"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// How much a room may hold, tests aside. Pairs are two files of which each uses a declaration of the
// other: where there are many, nobody can change one file without the rest in mind.
const (
	mostFiles = 25
	mostLines = 3000
	mostPairs = 9
	// mostAbout are the lines in which a package comment says what the room is for, what it takes and gives.
	mostAbout = 5
)

// oneFileARule are rooms in which each rule has a file of its own, so that their number says nothing.
var oneFileARule = map[string]bool{"pipeline/check": true}

// tradeWords are names of the language that are words of the trade as well: a sleeve's cap, keep clear of the blade.
var tradeWords = map[string]bool{"cap": true, "clear": true, "close": true, "max": true, "min": true, "print": true, "real": true}

// strayNames are names over which readers stumbled: they say nothing that a stranger could search for, or are numbered for
// want of a word. No declaration of a room and no method bears one.
var strayNames = map[string]bool{"Moment": true, "Still": true, "Alone": true, "told": true, "ear": true, "edge1": true, "finish1": true, "side2": true,
	"append2": true, "norm1": true, "target1": true, "Whoever": true, "WithoutIt": true, "WouldBe": true, "babble": true, "misfortune": true, "telltale": true, "fellows": true, "scribe": true, "wentOn": true}

type arrow struct {
	room string
	may  []string
}

// arrows says which rooms each room may import, by the first pattern that matches its path. Rooms of
// one level do not know each other; the one who chooses sits above those chosen from.
var arrows = []arrow{
	{"geom/letters", []string{"geom"}},
	{"geom/offset", []string{"geom"}},
	{"geom", nil},
	{"devices/knife/blade", []string{"devices", "geom"}},
	{"devices/flow", []string{"devices"}},
	{"devices/port", []string{"devices", "devices/flow"}},
	{"devices/talk", []string{"devices", "devices/flow", "devices/port"}},
	{"devices/pretend/pretendtest", []string{"devices/needs", "devices/pretend"}},
	{"devices/queue/queuetest", []string{"devices/needs"}},
	{"devices/needs", nil},
	{"devices/*", []string{"devices", "geom", "geom/letters"}},
	{"devices", []string{"geom"}},
	{"config/samples", nil},
	{"config", []string{"devices", "devices/paper", "geom"}},
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
	{"pipeline/draft/measured/warp", []string{"pipeline/draft/measured/curve", "geom"}},
	{"pipeline/draft/measured/drafting", []string{"pipeline/draft/measured/warp", "pipeline/draft/measured/sentence", "pipeline/draft/measured/curve", "pipeline/draft/measured/tree", "pipeline/pattern", "pipeline/tape", "geom"}},
	{"pipeline/draft/measured/darts", []string{"pipeline/draft/measured/sentence", "pipeline/draft/measured/curve", "pipeline/draft/measured/tree", "pipeline/draft/measured/drafting", "geom"}},
	{"pipeline/draft/measured/pleats", []string{"pipeline/draft/measured/sentence", "pipeline/draft/measured/curve", "pipeline/draft/measured/tree", "pipeline/draft/measured/drafting", "pipeline/draft/measured/darts", "geom"}},
	{"pipeline/draft/measured/panels", []string{"pipeline/draft/measured/sentence", "pipeline/draft/measured/curve", "pipeline/draft/measured/tree", "pipeline/draft/measured/drafting", "pipeline/draft/measured/darts", "pipeline/draft/measured/pleats", "geom"}},
	{"pipeline/draft/measured/pieces", []string{"pipeline/draft/measured/sentence", "pipeline/draft/measured/curve", "pipeline/draft/measured/tree", "pipeline/draft/measured/drafting", "pipeline/draft/measured/darts", "pipeline/draft/measured/pleats", "pipeline/draft/measured/panels", "pipeline/pattern", "geom", "geom/offset"}},
	{"pipeline/draft/measured/sewn", []string{"pipeline/draft/measured/sentence", "pipeline/draft/measured/curve", "pipeline/draft/measured/tree", "pipeline/draft/measured/drafting", "pipeline/draft/measured/pleats", "pipeline/draft/measured/pieces", "pipeline/pattern", "config", "geom", "geom/offset"}},
	{"pipeline/draft/measured/sides", []string{"pipeline/pattern", "geom"}},
	{"pipeline/draft/measured/figures", []string{"pipeline/draft/measured/sides", "pipeline/draft/measured/sentence", "pipeline/draft/measured/curve", "pipeline/draft/measured/tree", "pipeline/draft/measured/drafting", "pipeline/draft/measured/pieces", "pipeline/draft/measured/sewn", "pipeline/look", "pipeline/pattern", "geom"}},
	{"pipeline/draft/measured/wearers", []string{"devices/needs"}},
	{"pipeline/draft/measured", []string{"pipeline/draft/measured/*", "pipeline/pattern"}},
	{"pipeline/draft/*", []string{"pipeline/draft/assemble", "pipeline/draft/roles", "pipeline/pattern", "config", "geom"}},
	{"pipeline/draft", []string{"pipeline/draft/*", "pipeline/draft/measured/figures", "pipeline/pattern", "config", "geom"}},
	{"pipeline/lay/exact", []string{"geom"}},
	{"pipeline/lay/separation", []string{"pipeline/lay/exact", "geom"}},
	{"pipeline/lay", []string{"pipeline/lay/exact", "pipeline/lay/separation", "pipeline/pattern", "geom"}},
	{"pipeline/pdf", []string{"pipeline/pattern", "devices/paper", "geom"}},
	{"pipeline/picture", []string{"pipeline/look", "pipeline/pattern", "pipeline/pdf", "devices", "geom", "geom/letters"}},
	{"pipeline/report", []string{"pipeline/look", "pipeline/pattern", "pipeline/pdf"}},
	{"pipeline/labels", []string{"pipeline/pattern", "pipeline/pdf", "devices/paper", "geom"}},
	{"pipeline/tape", nil},
	{"pipeline/namedfiles", []string{"pipeline/store"}},
	{"pipeline/cloths", []string{"pipeline/lay", "pipeline/pattern", "pipeline/picture", "config", "devices"}},
	{"pipeline/job", []string{"pipeline/control", "pipeline/ledger", "pipeline/pattern", "devices"}},
	{"pipeline/control/asker", []string{"pipeline/ledger", "pipeline/pattern"}},
	{"pipeline/control/socket", nil},
	{"pipeline/control/remote", []string{"pipeline/control", "pipeline/control/asker", "pipeline/control/socket", "pipeline/ledger", "pipeline/places", "pipeline/store"}},
	{"pipeline/control/answers", []string{"pipeline/ledger"}},
	{"pipeline/control/leftout", []string{"pipeline/control/answers", "pipeline/ledger", "pipeline/pattern", "pipeline/store"}},
	{"pipeline/control", []string{"pipeline/control/answers", "pipeline/control/asker", "pipeline/control/leftout", "pipeline/ledger", "pipeline/pattern", "pipeline/places", "pipeline/store", "devices"}},
	{"pipeline/stock", []string{"pipeline/control", "pipeline/control/answers", "pipeline/ledger", "pipeline/pattern", "config"}},
	{"pipeline/reading", []string{"pipeline/control", "pipeline/control/remote", "pipeline/inbox", "pipeline/job", "pipeline/ledger", "pipeline/places", "pipeline/stock", "pipeline/store", "pipeline/trusted", "config"}},
	{"pipeline/jobtext", []string{"pipeline/control", "pipeline/control/answers", "pipeline/control/remote", "pipeline/lay", "pipeline/ledger", "pipeline/pattern", "pipeline/places", "pipeline/reading", "pipeline/returned", "pipeline/store", "config"}},
	{"pipeline/forget", []string{"pipeline/backup", "pipeline/ledger", "pipeline/pattern", "pipeline/reading", "pipeline/returned", "pipeline/store", "pipeline/trusted", "config"}},
	{"pipeline/testsquare", []string{"pipeline/control/answers", "pipeline/ledger", "pipeline/look", "pipeline/pattern", "pipeline/picture", "pipeline/reading", "pipeline/store", "config", "geom", "devices", "devices/calibration", "devices/paper"}},
	{"pipeline/checked", []string{"pipeline/check", "pipeline/pattern"}},
	{"pipeline/making", []string{"pipeline/check", "pipeline/checked", "pipeline/cloths", "pipeline/control", "pipeline/control/answers", "pipeline/draft", "pipeline/draft/measured/figures", "pipeline/job", "pipeline/labels", "pipeline/lay", "pipeline/ledger", "pipeline/look", "pipeline/machinefile", "pipeline/namedfiles", "pipeline/pattern", "pipeline/pdf", "pipeline/picture", "pipeline/plan", "pipeline/prepare", "pipeline/report", "pipeline/sheets", "pipeline/store", "pipeline/testsquare", "config", "geom", "devices", "devices/gcode", "devices/hpgl", "devices/knife", "devices/knife/blade", "devices/paper"}},
	{"pipeline/machinefile", []string{"pipeline/look", "pipeline/pattern", "pipeline/picture", "devices", "devices/gcode", "devices/hpgl", "devices/knife/blade", "geom"}},
	{"pipeline/laid", []string{"pipeline/cloths", "pipeline/draft/measured/figures", "pipeline/job", "pipeline/lay", "pipeline/ledger", "pipeline/making", "pipeline/pattern", "config"}},
	{"pipeline/sheets", []string{"pipeline/look", "pipeline/pattern", "pipeline/pdf", "devices/paper", "geom", "geom/letters"}},
	{"pipeline/daemon/daemontest", []string{"pipeline/daemon", "pipeline/control", "pipeline/inbox", "pipeline/job", "pipeline/ledger", "pipeline/pattern", "pipeline/store", "pipeline/verify", "devices"}},
	{"pipeline/daemon", []string{"pipeline/control", "pipeline/control/remote", "pipeline/inbox", "pipeline/job", "pipeline/ledger", "pipeline/pattern", "pipeline/returned", "pipeline/store", "pipeline/trusted", "devices"}},
	{"pipeline/machines", []string{"pipeline/control", "pipeline/control/remote", "pipeline/ledger", "pipeline/pattern", "pipeline/reading", "pipeline/testsquare", "config", "devices", "devices/port", "devices/queue", "devices/talk"}},
	{"pipeline/sending", []string{"pipeline/control", "pipeline/job", "pipeline/ledger", "pipeline/machines", "pipeline/returned", "pipeline/store", "config", "devices", "devices/gcode", "devices/hpgl", "devices/knife", "devices/paper", "devices/port", "devices/queue", "devices/talk", "geom"}},
	{"pipeline/web/webtest", nil},
	{"pipeline/web", []string{"pipeline/look", "pipeline/pattern", "pipeline/store"}},
	{"pipeline/jobpicture", []string{"pipeline/control", "pipeline/ledger", "pipeline/picture", "pipeline/places", "pipeline/web", "devices"}},
	{"pipeline/board", []string{"pipeline/control", "pipeline/control/answers", "pipeline/control/asker", "pipeline/control/leftout", "pipeline/draft/measured/figures", "pipeline/dropping", "pipeline/inbox", "pipeline/job", "pipeline/jobpicture", "pipeline/laid", "pipeline/lay", "pipeline/ledger", "pipeline/machines", "pipeline/namedfiles", "pipeline/pattern", "pipeline/picture", "pipeline/places", "pipeline/returned", "pipeline/sending", "pipeline/settings", "pipeline/stock", "pipeline/store", "pipeline/testsquare", "pipeline/web", "config", "devices", "devices/calibration"}},
	{"pipeline/dropping", []string{"pipeline/control/asker", "pipeline/inbox", "pipeline/ledger", "pipeline/namedfiles", "pipeline/pattern", "pipeline/store", "config"}},
	{"pipeline/desk/cardtext", []string{"pipeline/desk/checks", "pipeline/desk/mend", "pipeline/draft/measured/sentence", "pipeline/pattern", "pipeline/tape"}},
	{"pipeline/desk/differing", nil},
	{"pipeline/desk/moved", []string{"pipeline/draft/measured/figures", "pipeline/draft/measured/sentence"}},
	{"pipeline/desk/sharing", []string{"pipeline/desk/cardtext", "pipeline/draft/measured/drafting", "pipeline/draft/measured/sentence", "pipeline/pattern"}},
	{"pipeline/desk/checks", []string{"pipeline/draft/measured/figures", "pipeline/draft/measured/sentence", "pipeline/pattern"}},
	{"pipeline/desk/folder", []string{"pipeline/desk/differing", "pipeline/pattern", "pipeline/store"}},
	{"pipeline/desk/steps", []string{"pipeline/draft/measured/figures"}},
	{"pipeline/desk/taken", []string{"pipeline/desk/cardtext", "pipeline/desk/checks", "pipeline/desk/folder", "pipeline/pattern", "pipeline/store"}},
	{"pipeline/desk/lays", []string{"pipeline/cloths", "pipeline/making", "config"}},
	{"pipeline/desk/mend", []string{"pipeline/pattern", "pipeline/tape", "config/samples"}},
	{"pipeline/desk", []string{"pipeline/cloths", "pipeline/desk/*", "pipeline/draft", "pipeline/draft/measured", "pipeline/draft/measured/drafting", "pipeline/draft/measured/figures", "pipeline/draft/measured/sentence", "pipeline/dropping", "pipeline/inbox", "pipeline/ledger", "pipeline/lessons", "pipeline/look", "pipeline/making", "pipeline/pattern", "pipeline/picture", "pipeline/store", "pipeline/tape", "pipeline/web", "config", "config/samples", "geom"}},
	{"pipeline/hooks", []string{"pipeline/control", "pipeline/ledger", "config"}},
	{"pipeline/pages/browsertest", []string{"devices/needs"}},
	{"pipeline/pages", []string{"pipeline", "pipeline/board", "pipeline/control", "pipeline/desk", "pipeline/desk/folder", "pipeline/store", "pipeline/web", "config"}},
	{"pipeline/demo", []string{"pipeline", "pipeline/pages", "pipeline/control", "pipeline/control/asker", "pipeline/ledger", "pipeline/logline", "pipeline/look", "pipeline/machinefile", "pipeline/making", "pipeline/newroom", "pipeline/pattern", "pipeline/picture", "config", "config/samples", "devices", "devices/gcode", "devices/hpgl", "devices/knife/blade", "devices/pretend", "geom"}},
	{"pipeline/lessons", []string{"pipeline/draft/measured", "pipeline/look", "pipeline/making", "pipeline/picture", "config/samples"}},
	{"pipeline/newroom", []string{"pipeline/draft", "pipeline/lessons", "pipeline/store", "config", "config/samples"}},
	{"pipeline/*", []string{"pipeline/look", "pipeline/pattern", "pipeline/store", "pipeline/ledger", "config", "devices", "geom", "geom/letters", "geom/offset"}},
	{"pipeline", []string{"pipeline/daemon", "pipeline/inbox", "pipeline/job", "pipeline/ledger", "pipeline/making", "pipeline/pattern", "pipeline/sending", "config", "devices"}},
	{"cmd/tracewheel", []string{"pipeline", "pipeline/*", "pipeline/control/answers", "pipeline/control/asker", "pipeline/control/remote", "config", "config/samples", "devices", "geom"}},
}

// TestRooms holds every room to a size in which a stranger finds the place for a change, and imports to one direction.
func TestRooms(t *testing.T) {
	cmd := exec.Command("go", "list", "-export", "-deps", "-json=ImportPath,Export,Dir,GoFiles,IgnoredGoFiles", "./...")
	cmd.Dir = filepath.Join("..", "..")
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	type listed struct {
		ImportPath, Export, Dir string
		GoFiles, IgnoredGoFiles []string // the second are of other systems, and tests of other tags
	}
	var rooms []listed
	exports := map[string]string{}
	for dec := json.NewDecoder(bytes.NewReader(out)); ; {
		var l listed
		if err := dec.Decode(&l); err == io.EOF {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		exports[l.ImportPath] = l.Export
		if strings.HasPrefix(l.ImportPath, "tracewheel/") {
			rooms = append(rooms, l)
		}
	}
	if len(rooms) < 30 {
		t.Fatalf("%d rooms found", len(rooms))
	}
	fset := token.NewFileSet()
	from := importer.ForCompiler(fset, "gc", func(path string) (io.ReadCloser, error) { return os.Open(exports[path]) })
	for _, l := range rooms {
		room := strings.TrimPrefix(l.ImportPath, "tracewheel/")
		var files []*ast.File
		lines, about := 0, 0
		var imports []string
		for _, name := range l.GoFiles {
			f, err := parser.ParseFile(fset, filepath.Join(l.Dir, name), nil, parser.ParseComments)
			if err != nil {
				t.Fatal(err)
			}
			if f.Doc != nil {
				about += len(f.Doc.List)
			}
			files = append(files, f)
			lines += fset.File(f.Pos()).LineCount()
		}
		held := len(files)
		for _, name := range l.IgnoredGoFiles {
			if strings.HasSuffix(name, "_test.go") {
				continue
			}
			text, err := os.ReadFile(filepath.Join(l.Dir, name))
			if err != nil {
				t.Fatal(err)
			}
			held, lines = held+1, lines+bytes.Count(text, []byte("\n"))
			f, err := parser.ParseFile(token.NewFileSet(), name, text, parser.ImportsOnly)
			if err != nil {
				t.Fatal(err)
			}
			for _, imp := range f.Imports {
				imports = append(imports, strings.Trim(imp.Path.Value, `"`))
			}
		}
		info := &types.Info{Uses: map[*ast.Ident]types.Object{}, Defs: map[*ast.Ident]types.Object{}}
		pkg, err := (&types.Config{Importer: from}).Check(l.ImportPath, fset, files, info)
		if err != nil {
			t.Fatal(err)
		}
		for _, imp := range pkg.Imports() {
			imports = append(imports, imp.Path())
		}
		rule := slices.IndexFunc(arrows, func(a arrow) bool { return matches(a.room, room) })
		if rule < 0 {
			t.Errorf("%s is a room that no arrow names", room)
			continue
		}
		for _, imp := range imports {
			to, ours := strings.CutPrefix(imp, "tracewheel/")
			if ours && !slices.ContainsFunc(arrows[rule].may, func(p string) bool { return matches(p, to) }) {
				t.Errorf("%s imports %s, against the arrows", room, to)
			}
		}
		for id, o := range info.Defs { // fields and methods have no scope, and hide nothing
			if o != nil && o.Parent() != nil && types.Universe.Lookup(id.Name) != nil && !tradeWords[id.Name] {
				t.Errorf("%s: %q hides a name of the language: name it otherwise", fset.Position(id.Pos()), id.Name)
			}
		}
		for id, o := range info.Defs {
			f, isFunc := o.(*types.Func)
			if o != nil && strayNames[id.Name] && (o.Parent() == pkg.Scope() || isFunc && f.Signature().Recv() != nil) {
				t.Errorf("%s: name %q by what it is", fset.Position(id.Pos()), id.Name)
			}
		}
		pairs := mutual(fset, pkg, info)
		if held > mostFiles && !oneFileARule[room] {
			t.Errorf("%s holds %d files, and may hold %d: divide it", room, held, mostFiles)
		}
		if lines > mostLines && !oneFileARule[room] {
			t.Errorf("%s holds %d lines, and may hold %d: divide it", room, lines, mostLines)
		}
		if about == 0 || about > mostAbout {
			t.Errorf("%s is described in %d lines of package comment: say in 1 to %d what it is for, takes and gives", room, about, mostAbout)
		}
		if len(pairs) > mostPairs {
			t.Errorf("%s holds %d pairs of files that use each other, and may hold %d: %s", room, len(pairs), mostPairs, strings.Join(pairs, "; "))
		}
	}
}

// mutual lists the pairs of a package's files of which each uses something that the other declares: a
// function, type, method, variable or constant.
func mutual(fset *token.FileSet, pkg *types.Package, info *types.Info) []string {
	uses := map[[2]string]bool{}
	for id, o := range info.Uses {
		if f, isFunc := o.(*types.Func); o.Pkg() != pkg || o.Parent() != pkg.Scope() && !(isFunc && f.Signature().Recv() != nil) {
			continue
		}
		by, in := filepath.Base(fset.Position(id.Pos()).Filename), filepath.Base(fset.Position(o.Pos()).Filename)
		uses[[2]string{by, in}] = true
	}
	var out []string
	for u := range uses {
		if u[0] < u[1] && uses[[2]string{u[1], u[0]}] {
			out = append(out, fmt.Sprintf("%s and %s", u[0], u[1]))
		}
	}
	return out
}

// TestDaemonAlone: the daemon's own tests build without formats, languages, knives and ports. What it takes
// and gives is job's, so that its tests need no draft and no machine.
func TestDaemonAlone(t *testing.T) {
	cmd := exec.Command("go", "list", "-test", "-deps", "./pipeline/daemon/...")
	cmd.Dir = filepath.Join("..", "..")
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	if !strings.Contains(string(out), "tracewheel/pipeline/daemon_test") {
		t.Fatal("its tests are not in the list")
	}
	for line := range strings.Lines(string(out)) {
		room, _, _ := strings.Cut(strings.TrimSpace(line), " ")
		for _, far := range []string{"pipeline/draft", "pipeline/making", "pipeline/sending", "devices/hpgl", "devices/gcode", "devices/knife", "devices/port", "devices/talk"} {
			if to := "tracewheel/" + far; room == to || strings.HasPrefix(room, to+"/") {
				t.Errorf("the daemon's tests need %s", room)
			}
		}
	}
}

// matches compares a path with a pattern in which * is one part of a path.
func matches(pattern, room string) bool {
	ok, err := path.Match(pattern, room)
	return err == nil && ok
}

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
	"path/filepath"
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
var strayNames = map[string]bool{"Moment": true, "Still": true, "Alone": true, "told": true, "ear": true, "edge1": true, "finish1": true, "side2": true}

// TestRooms holds every room to a size in which a stranger finds the place for a change.
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
		}
		info := &types.Info{Uses: map[*ast.Ident]types.Object{}, Defs: map[*ast.Ident]types.Object{}}
		pkg, err := (&types.Config{Importer: from}).Check(l.ImportPath, fset, files, info)
		if err != nil {
			t.Fatal(err)
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

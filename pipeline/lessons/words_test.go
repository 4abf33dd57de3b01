package lessons

import (
	"bytes"
	"encoding/json"
	"go/ast"
	"go/parser"
	"go/token"
	"html"
	"io/fs"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"tracewheel/pipeline/draft/measured"
)

// example is a part of EXAMPLES.md with the words of its draft and of what is read with it.
type example struct {
	Part
	words string // " a b c "
}

func (e example) shows(words string) bool { return strings.Contains(e.words, " "+spaced(words)+" ") }

// spaced is a text's lower-case words, one space between them.
func spaced(text string) string { return strings.Join(oneWord.FindAllString(text, -1), " ") }

func examples(t *testing.T) map[string]example {
	t.Helper()
	parts, err := Parse(measured.Examples)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]example{}
	for _, p := range parts {
		if p.Draft == "" {
			continue
		}
		if _, ok := out[p.ID]; ok {
			t.Errorf("two examples are called %q", p.Head)
		}
		all := p.Draft
		for _, b := range p.Beside {
			all += "\n" + b.Text
		}
		out[p.ID] = example{p, " " + spaced(all) + " "}
	}
	if len(out) < 70 {
		t.Fatalf("%d examples", len(out))
	}
	return out
}

// spans are the reference's pieces of code, each as its lower-case words.
func spans(t *testing.T) []string {
	t.Helper()
	var out []string
	for _, m := range code.FindAllStringSubmatch(string(measured.Reference), -1) {
		out = append(out, " "+spaced(m[1])+" ")
	}
	if len(out) < 150 {
		t.Fatalf("%d pieces of code in the reference", len(out))
	}
	return out
}

// readWords are the words that the reader of measured drafts asks for, taken from its source: what it takes from a
// sentence and its tables of words, and the keys of a draft by its schema.
func readWords(t *testing.T) []string {
	t.Helper()
	found := map[string]bool{}
	add := func(e ast.Expr) {
		if l, ok := e.(*ast.BasicLit); ok && l.Kind == token.STRING {
			if s, err := strconv.Unquote(l.Value); err == nil && wordOnly.MatchString(s) {
				found[s] = true
			}
		}
	}
	err := filepath.WalkDir("../draft/measured", func(path string, _ fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		ast.Inspect(file, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.CallExpr: // p.Take("on the fold")
				if of, ok := n.Fun.(*ast.SelectorExpr); ok && slices.Contains([]string{"Take", "TakeAny", "Want", "Is"}, of.Sel.Name) {
					for i, a := range n.Args {
						if i == 0 || of.Sel.Name == "TakeAny" {
							add(a)
						}
					}
				}
			case *ast.CompositeLit: // []string{"leaving", "arriving"}
				if of, ok := n.Type.(*ast.ArrayType); ok && of.Len == nil {
					if elem, ok := of.Elt.(*ast.Ident); ok && elem.Name == "string" {
						for _, e := range n.Elts {
							add(e)
						}
					}
				}
			}
			return true
		})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	var schema struct {
		Properties map[string]any `json:"properties"`
	}
	if err := json.Unmarshal(measured.Schema, &schema); err != nil || len(schema.Properties) < 20 {
		t.Fatal(err, len(schema.Properties))
	}
	for key := range schema.Properties {
		found[key] = true
	}
	for _, known := range []string{"on the fold", "leaving", "softened at", "swung", "pleat", "cloth"} {
		if !found[known] {
			t.Fatalf("the reader's words are not found: %q is none of %d", known, len(found))
		}
	}
	var out []string
	for w := range found {
		out = append(out, w)
	}
	slices.Sort(out)
	return out
}

// TestEveryWordHasAnExample: a word that the reader asks for and the reference has leads to an example whose draft
// holds it.
func TestEveryWordHasAnExample(t *testing.T) {
	all, reference := examples(t), spans(t)
	shown, err := shownWords()
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, word := range readWords(t) {
		said := " " + spaced(word) + " "
		if !slices.ContainsFunc(reference, func(s string) bool { return strings.Contains(s, said) }) {
			continue // another spelling of one that is there
		}
		n++
		reached := false
		for words, id := range shown {
			reached = reached || strings.Contains(" "+spaced(words)+" ", said) && all[id].shows(word)
		}
		if !reached {
			t.Errorf("no example is reached from %q", word)
		}
	}
	if n < 180 {
		t.Errorf("%d words were looked at", n)
	}
	t.Logf("%d words", n)
}

// notInADraft are words of the reference's code that stand for files and commands.
const notInADraft = `measured-draft schema json export tracewheel svg dxf figures lay cards drafts bodice-block`

// TestReferenceWordsAreShown: each single word of the reference's code, the names in it as well, stands in an example.
func TestReferenceWordsAreShown(t *testing.T) {
	all, has := examples(t), map[string]bool{}
	for _, e := range all {
		for _, w := range strings.Fields(e.words) {
			has[w] = true
		}
	}
	for _, w := range strings.Fields(notInADraft) {
		if has[w] {
			t.Errorf("%q is shown now; take it out of the list", w)
		}
		has[w] = true
	}
	n := 0
	for _, s := range spans(t) {
		for _, w := range strings.Fields(s) {
			if n++; len(w) > 1 && !has[w] {
				t.Errorf("no example shows %q, of %q", w, s)
				has[w] = true
			}
		}
	}
	if n < 300 {
		t.Errorf("%d words of the reference were looked at", n)
	}
}

// TestExamplesShowTheirWords: what a heading or a text of an example sets apart as a word stands in its draft.
func TestExamplesShowTheirWords(t *testing.T) {
	for _, e := range examples(t) {
		for _, m := range code.FindAllStringSubmatch(strings.Join(append([]string{e.Head}, append(e.Text, e.After...)...), " "), -1) {
			if wordOnly.MatchString(m[1]) && !e.shows(m[1]) {
				t.Errorf("%s: the draft has no %q", e.Head, m[1])
			}
		}
	}
}

// TestReferenceLeadsToExamples: every link of the reference's page leads to a heading of the examples' page, and the
// page says all that the text says.
func TestReferenceLeadsToExamples(t *testing.T) {
	page, err := Reference()
	if err != nil {
		t.Fatal(err)
	}
	all := examples(t)
	links := regexp.MustCompile(`href="EXAMPLES\.html#([^"]*)"`).FindAllStringSubmatch(string(page), -1)
	for _, l := range links {
		if _, ok := all[l[1]]; !ok {
			t.Errorf("no example is called %s", l[1])
		}
	}
	if len(links) < 300 {
		t.Errorf("%d words lead to an example", len(links))
	}
	text := func(s string) string {
		return strings.Join(strings.Fields(strings.NewReplacer("`", "", "|", "").Replace(s)), " ")
	}
	plain := text(html.UnescapeString(regexp.MustCompile(`<[^>]*>`).ReplaceAllString(string(page[bytes.Index(page, []byte("<main>")):]), "")))
	for line := range strings.Lines(string(measured.Reference)) {
		for _, cell := range strings.Split(line, " | ") {
			if cell = text(strings.TrimLeft(cell, "# ")); cell != "" && strings.Trim(cell, "-") != "" && !strings.Contains(plain, cell) {
				t.Errorf("the page does not say %.80q", cell)
			}
		}
	}
}

// TestWordsOfALine: in a line of a draft the longest words are found, each once; a name that only begins like one is none.
func TestWordsOfALine(t *testing.T) {
	for line, want := range map[string]string{
		"  D: from C square to O B out 3": "from, square to, out",
		"  K: half-way from S to K":       "half-way, from",
		"  fromage: outlet":               "",
	} {
		words, err := WordsOf(line)
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, w := range words {
			got = append(got, w.Words)
		}
		if strings.Join(got, ", ") != want {
			t.Errorf("%s: %q, want %q", line, strings.Join(got, ", "), want)
		}
	}
}

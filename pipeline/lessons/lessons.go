// Package lessons shows how a measured draft is written: a tutorial in steps and examples of the words, each
// draft with its picture. The texts are Markdown beside the reference; the pictures are drawn as the page is made.
package lessons

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"io/fs"
	"regexp"
	"slices"
	"strings"

	"tracewheel/config/samples"
	"tracewheel/pipeline/draft/measured"
	"tracewheel/pipeline/look"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/picture"
)

//go:embed page.html
var pageText string

var page = template.Must(template.New("page").Parse(pageText))

// Pages are the pages that lie beside measured drafts, file name to what makes the page. Their links lead from one to
// another by these names.
var Pages = map[string]func() ([]byte, error){
	"TUTORIAL.html":  func() ([]byte, error) { return HTML(measured.Tutorial) },
	"EXAMPLES.html":  func() ([]byte, error) { return HTML(measured.Examples) },
	"REFERENCE.html": Reference,
}

// coarse is how far a picture's curve may lie from the true one, in thousandths of its width.
const coarse = 0.2

// Part is a heading with what follows it, up to the next heading.
type Part struct {
	Level  int // of the heading, from 1
	Head   string
	ID     string   // by which a link leads to it
	Text   []string // paragraphs before the draft
	Draft  string   // empty where none is shown
	Beside []Beside // what the draft is read with
	After  []string // paragraphs behind it
}

// Beside is a file that a draft is read with.
type Beside struct {
	Kind string // "card", "block" or "ticket"
	Name string // of a card or a block: chorus-9.yaml
	Text string
}

// Words say what it is.
func (b Beside) Words() string {
	switch b.Kind {
	case "card":
		return "The measure card " + b.Name + ":"
	case "block":
		return "The draft " + b.Name + ":"
	}
	return "The ticket beside the draft:"
}

// Parse splits Markdown of headings, paragraphs and one ```yaml block a part into its parts. Blocks that begin with
// ```card NAME.yaml, ```block NAME.yaml and ```ticket are read with the draft.
func Parse(text []byte) ([]Part, error) {
	var parts []Part
	for len(text) > 0 {
		line, rest, _ := bytes.Cut(text, []byte("\n"))
		s := strings.TrimSpace(string(line))
		text = rest
		switch {
		case s == "":
		case strings.HasPrefix(s, "#"):
			head := strings.TrimLeft(s, "#")
			parts = append(parts, Part{Level: len(s) - len(head), Head: strings.TrimSpace(head), ID: idOf(head)})
		case len(parts) == 0:
			return nil, fmt.Errorf("%q stands before the first heading", s)
		case s == "```yaml":
			draft, after, closed := bytes.Cut(rest, []byte("```\n"))
			p := &parts[len(parts)-1]
			if !closed || p.Draft != "" {
				return nil, fmt.Errorf("%s: a draft is not closed, or there are two", p.Head)
			}
			p.Draft, text = string(draft), after
		case strings.HasPrefix(s, "```"):
			beside, after, closed := bytes.Cut(rest, []byte("```\n"))
			kind, name, _ := strings.Cut(s[3:], " ")
			p := &parts[len(parts)-1]
			if !closed || !slices.Contains([]string{"card", "block", "ticket"}, kind) || (name == "") != (kind == "ticket") {
				return nil, fmt.Errorf("%s: %q is no card, block or ticket, or is not closed", p.Head, s)
			}
			p.Beside, text = append(p.Beside, Beside{kind, name, string(beside)}), after
		default:
			p := &parts[len(parts)-1]
			if p.Draft == "" {
				p.Text = append(p.Text, s)
			} else {
				p.After = append(p.After, s)
			}
		}
	}
	return parts, nil
}

// Look reads, checks and completes a part's draft as for any file of the workroom; the pattern has its cut lines. The
// error is of making.Export.
func Look(p Part) (*making.Looked, error) {
	r := making.Request{Name: "lesson.yaml", Source: []byte(p.Draft), Cards: map[string][]byte{}, Blocks: map[string][]byte{}}
	for dir, into := range map[fs.FS]map[string][]byte{samples.Cards(): r.Cards, samples.Drafts(): r.Blocks} {
		names, err := fs.Glob(dir, "*.yaml")
		if err != nil {
			return nil, err
		}
		for _, name := range names {
			data, err := fs.ReadFile(dir, name)
			if err != nil {
				return nil, err
			}
			into[name], into[strings.TrimSuffix(name, ".yaml")] = data, data
		}
	}
	for _, b := range p.Beside {
		into := map[string]map[string][]byte{"card": r.Cards, "block": r.Blocks}[b.Kind]
		if into == nil {
			r.Ticket = []byte(b.Text)
			continue
		}
		into[b.Name], into[strings.TrimSuffix(b.Name, ".yaml")] = []byte(b.Text), []byte(b.Text)
	}
	_, w, err := making.New(making.Sample()).Export(r, ".svg")
	return w, err
}

// shown is a part as the page has it.
type shown struct {
	Level  int
	ID     string
	Head   template.HTML
	Beside []Beside
	Text   []template.HTML
	Lines  []shownLine
	SVG    template.HTML
	After  []template.HTML
}

type shownLine struct {
	Text string
	New  bool // not in the draft of the step before
}

// HTML is a text as one page without scripts: each draft with its picture, and what is new since the step before of the
// same garment marked. A draft that cannot be drawn is an error that names its part.
func HTML(text []byte) ([]byte, error) {
	parts, err := Parse(text)
	if err != nil {
		return nil, err
	}
	var out []shown
	var before []string
	for _, p := range parts {
		s := shown{Level: p.Level, ID: p.ID, Head: words(p.Head), Beside: p.Beside}
		for _, t := range p.Text {
			s.Text = append(s.Text, words(t))
		}
		for _, t := range p.After {
			s.After = append(s.After, words(t))
		}
		if p.Level < 3 {
			before = nil
		}
		if p.Draft != "" {
			w, err := Look(p)
			if err != nil {
				return nil, fmt.Errorf("%s: %w: %v", p.Head, err, w.Findings)
			}
			c := picture.Pattern(w.Pattern, w.Findings, picture.Options{Points: true, Coarse: coarse})
			s.SVG = template.HTML(styleElement.ReplaceAll(c.SVG(), nil)) //nolint:gosec // the program drew it
			lines := strings.Split(strings.TrimRight(p.Draft, "\n"), "\n")
			if before != nil && before[0] != lines[0] {
				before = nil
			}
			for _, l := range lines {
				s.Lines = append(s.Lines, shownLine{l, before != nil && !slices.Contains(before, l)})
			}
			before = lines
		}
		out = append(out, s)
	}
	var b bytes.Buffer
	err = page.Execute(&b, struct {
		Title string
		Style template.CSS
		Parts []shown
	}{parts[0].Head, look.Style() + template.CSS(look.DarkSVG()), out}) //nolint:gosec // made of constants
	return b.Bytes(), err
}

// styleElement stands once in the page's head.
var styleElement = regexp.MustCompile(`(?s)<style>.*?</style>\s*`)

var (
	code = regexp.MustCompile("`([^`]*)`")
	link = regexp.MustCompile(`\[([^\]]*)\]\(([A-Za-z.]*)\)`)
	sign = regexp.MustCompile(`[^a-z0-9]+`)
)

// idOf is the name of a heading for links.
func idOf(head string) string {
	return strings.Trim(sign.ReplaceAllString(strings.ToLower(head), "-"), "-")
}

// words is a line of Markdown with its `words of a draft` set apart and its links to the pages beside it.
func words(s string) template.HTML {
	s = code.ReplaceAllString(template.HTMLEscapeString(s), "<code>$1</code>")
	return template.HTML(link.ReplaceAllString(s, `<a href="$2">$1</a>`)) //nolint:gosec // escaped above
}

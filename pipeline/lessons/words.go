package lessons

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"regexp"
	"strings"
	"sync"

	"tracewheel/pipeline/draft/measured"
	"tracewheel/pipeline/look"
)

//go:embed reference.html
var referenceText string

var referencePage = template.Must(template.New("reference").Parse(referenceText))

// Word is a word of the language, or several that are said together, and the example that shows it.
type Word struct {
	Words string `json:"words"`
	ID    string `json:"id"` // of the example's heading, in EXAMPLES.html
}

var (
	wordOnly = regexp.MustCompile(`^[a-z]+([ -][a-z]+)*$`)
	oneWord  = regexp.MustCompile(`[a-z]+(-[a-z]+)*`)
)

// shownWords are the words that the examples show, with the heading's ID: those that stand as code in a heading, then
// those in a text, the first of several examples. Code that has signs, figures or capitals is no word.
var shownWords = sync.OnceValues(func() (map[string]string, error) {
	parts, err := Parse(measured.Examples)
	if err != nil {
		return nil, err
	}
	out := map[string]string{}
	add := func(p Part, text string) {
		for _, m := range code.FindAllStringSubmatch(text, -1) {
			if _, ok := out[m[1]]; !ok && wordOnly.MatchString(m[1]) {
				out[m[1]] = p.ID
			}
		}
	}
	for _, p := range parts {
		if p.Draft != "" {
			add(p, p.Head)
		}
	}
	for _, p := range parts {
		if p.Draft != "" {
			add(p, strings.Join(p.Text, " ")+" "+strings.Join(p.After, " "))
		}
	}
	return out, nil
})

// place is a word in a text, from and to in bytes.
type place struct {
	Word
	from, to int
}

// placesOf finds the words of the language in a text, at each place the longest.
func placesOf(text string) ([]place, error) {
	shown, err := shownWords()
	if err != nil {
		return nil, err
	}
	var out []place
	at := oneWord.FindAllStringIndex(text, -1)
	for i := 0; i < len(at); i++ {
		words, last := "", -1
		for k := i; k < len(at) && (k == i || strings.TrimSpace(text[at[k-1][1]:at[k][0]]) == ""); k++ {
			if said := strings.Join(strings.Fields(text[at[i][0]:at[k][1]]), " "); shown[said] != "" {
				words, last = said, k
			}
		}
		if last >= 0 {
			out = append(out, place{Word{words, shown[words]}, at[i][0], at[last][1]})
			i = last
		}
	}
	return out, nil
}

// WordsOf gives the words of the language that stand in a line of a draft, each once, with their examples.
func WordsOf(line string) ([]Word, error) {
	places, err := placesOf(line)
	var out []Word
	had := map[string]bool{}
	for _, p := range places {
		if !had[p.Words] {
			out = append(out, p.Word)
		}
		had[p.Words] = true
	}
	return out, err
}

// Reference is the reference as a page in which each word leads to its example.
func Reference() ([]byte, error) {
	type row struct {
		Head  bool
		Cells []template.HTML
	}
	type part struct {
		Rows []row
		Text template.HTML
	}
	var parts []part
	title, text, _ := strings.Cut(string(measured.Reference), "\n")
	for line := range strings.Lines(text) {
		line = strings.TrimSpace(line)
		if line == "" || strings.HasPrefix(line, "|--") {
			continue
		}
		if !strings.HasPrefix(line, "|") {
			t, err := linked(line)
			if err != nil {
				return nil, err
			}
			parts = append(parts, part{Text: t})
			continue
		}
		if len(parts) == 0 || parts[len(parts)-1].Rows == nil {
			parts = append(parts, part{})
		}
		p := &parts[len(parts)-1]
		r := row{Head: p.Rows == nil}
		for _, cell := range strings.Split(strings.Trim(line, "| "), " | ") {
			t, err := linked(cell)
			if err != nil {
				return nil, err
			}
			r.Cells = append(r.Cells, t)
		}
		p.Rows = append(p.Rows, r)
	}
	var b bytes.Buffer
	err := referencePage.Execute(&b, struct {
		Title string
		Style template.CSS
		Parts []part
	}{strings.TrimLeft(title, "# "), look.Style(), parts})
	return b.Bytes(), err
}

// linked is a line of the reference; each word of the language in its code leads to its example.
func linked(line string) (template.HTML, error) {
	var b strings.Builder
	for i, s := range strings.Split(line, "`") {
		if i%2 == 0 {
			template.HTMLEscape(&b, []byte(s))
			continue
		}
		places, err := placesOf(s)
		if err != nil {
			return "", err
		}
		b.WriteString("<code>")
		at := 0
		for _, p := range places {
			template.HTMLEscape(&b, []byte(s[at:p.from]))
			fmt.Fprintf(&b, `<a href="EXAMPLES.html#%s">%s</a>`, p.ID, template.HTMLEscapeString(s[p.from:p.to]))
			at = p.to
		}
		template.HTMLEscape(&b, []byte(s[at:]))
		b.WriteString("</code>")
	}
	return template.HTML(b.String()), nil //nolint:gosec // escaped above
}

package svg

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strings"

	"golang.org/x/text/encoding/charmap"

	"tracewheel/pipeline/draft/assemble"
)

const svgSpace = "http://www.w3.org/2000/svg"

// node is an SVG element, or a run of text in one. Elements of other namespaces are not kept.
type node struct {
	name         string // local name, "" for text
	attrs        []xml.Attr
	kids         []*node
	parent       *node
	data         string // of text
	line, column int
}

// attr is the value of an attribute without a namespace, "" where there is none.
func (n *node) attr(name string) string {
	v, _ := n.lookup(name)
	return v
}

func (n *node) lookup(name string) (string, bool) {
	for i := range n.attrs {
		if n.attrs[i].Name.Space == "" && n.attrs[i].Name.Local == name {
			return strings.TrimSpace(n.attrs[i].Value), true
		}
	}
	return "", false
}

// label is the attribute by which drawing programs name a group, whatever its namespace.
func (n *node) label() string {
	for i := range n.attrs {
		if n.attrs[i].Name.Local == "label" {
			return n.attrs[i].Value
		}
	}
	return ""
}

// href is the target of a reference.
func (n *node) href() string {
	for i := range n.attrs {
		if n.attrs[i].Name.Local == "href" {
			return strings.TrimSpace(n.attrs[i].Value)
		}
	}
	return ""
}

// title is the text of the element's own title.
func (n *node) title() string {
	for _, k := range n.kids {
		if k.name == "title" {
			return strings.Join(strings.Fields(k.text()), " ")
		}
	}
	return ""
}

// text is all text inside.
func (n *node) text() string {
	if n.name == "" {
		return n.data
	}
	var b strings.Builder
	for _, k := range n.kids {
		b.WriteString(k.text())
	}
	return b.String()
}

// where names the element and its line, for messages about several.
func (n *node) where() string { return fmt.Sprintf("line %d, %s", n.line, n.called()) }

// called names the element, for messages that stand behind its line.
func (n *node) called() string {
	for _, a := range []string{"id", "class"} {
		if v := n.attr(a); v != "" {
			return fmt.Sprintf("<%s %s=%q>", n.name, a, assemble.Clip(v))
		}
	}
	return fmt.Sprintf("<%s>", n.name)
}

// keepsText names the elements whose text is wanted.
func keepsText(name string) bool {
	switch name {
	case "text", "tspan", "title", "style", "a", "textPath":
		return true
	}
	return false
}

// parse reads the file into a tree.
func parse(data []byte, limits Limits) (*node, error) {
	if err := openable(data, limits); err != nil {
		return nil, err
	}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	d := xml.NewDecoder(bytes.NewReader(data))
	d.CharsetReader = charset
	p := &parser{d: d, limits: limits, references: bytes.Count(data, []byte("&"))}
	return p.run()
}

// openable refuses by name what is certainly no SVG text.
func openable(data []byte, limits Limits) error {
	switch {
	case len(bytes.TrimSpace(data)) == 0:
		return &assemble.Unreadable{Kind: assemble.Malformed, Text: "the file is empty"}
	case len(data) > limits.Bytes:
		return &assemble.Unreadable{Kind: assemble.TooLarge, Text: fmt.Sprintf("the file has %d bytes; more than %d are not read", len(data), limits.Bytes)}
	case bytes.HasPrefix(data, []byte{0x1f, 0x8b}):
		return &assemble.Unreadable{Kind: assemble.Unsupported, Text: "the file is compressed (svgz); unpack it with gzip and hand in the .svg"}
	case bytes.HasPrefix(data, []byte{0xff, 0xfe}), bytes.HasPrefix(data, []byte{0xfe, 0xff}):
		return &assemble.Unreadable{Kind: assemble.Unsupported, Text: "the file is written in UTF-16; save it as UTF-8"}
	case bytes.IndexByte(data, 0) >= 0:
		return &assemble.Unreadable{Kind: assemble.Malformed, Text: "the file is binary, no SVG text"}
	}
	return nil
}

func charset(label string, in io.Reader) (io.Reader, error) {
	switch strings.ToLower(label) {
	case "utf-8", "utf8", "us-ascii", "ascii":
		return in, nil
	case "iso-8859-1", "latin1", "latin-1", "iso_8859-1":
		return charmap.ISO8859_1.NewDecoder().Reader(in), nil
	case "windows-1252", "cp1252":
		return charmap.Windows1252.NewDecoder().Reader(in), nil
	}
	return nil, &assemble.Unreadable{Kind: assemble.Unsupported, Line: 1, Column: 1, Text: fmt.Sprintf("the encoding %q is not read; save the file as UTF-8", label)}
}

type parser struct {
	d      *xml.Decoder
	limits Limits
	root   *node
	open   []*node // nil for elements that are not kept
	count  int
	// references is how many entities the file may refer to at most.
	references int
}

func (p *parser) run() (*node, error) {
	for {
		line, column := p.d.InputPos()
		tok, err := p.d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, p.syntax(err)
		}
		if err := p.token(tok, line, column); err != nil {
			return nil, err
		}
	}
	if p.root == nil {
		return nil, &assemble.Unreadable{Kind: assemble.Malformed, Text: "the file holds no <svg> element"}
	}
	return p.root, nil
}

func (p *parser) syntax(err error) error {
	var own *assemble.Unreadable
	if errors.As(err, &own) {
		return own
	}
	line, column := p.d.InputPos()
	text := err.Error()
	var se *xml.SyntaxError
	if errors.As(err, &se) {
		text = se.Msg
	}
	if text == "unexpected EOF" {
		text = "the file ends in the middle; it is cut short or still being written"
	}
	return &assemble.Unreadable{Kind: assemble.Malformed, Line: line, Column: column, Text: text}
}

func (p *parser) token(tok xml.Token, line, column int) error {
	switch t := tok.(type) {
	case xml.Directive:
		if err := p.entities(t); err != nil {
			return &assemble.Unreadable{Kind: assemble.Unsupported, Line: line, Column: column, Text: err.Error()}
		}
	case xml.StartElement:
		return p.start(t, line, column)
	case xml.EndElement:
		p.open = p.open[:len(p.open)-1]
	case xml.CharData:
		p.chars(t)
	}
	return nil
}

// maxAttrs bounds the attributes of one element, each of which is compared with the others.
const maxAttrs = 500

func (p *parser) start(t xml.StartElement, line, column int) error {
	p.count++
	switch {
	case p.count > p.limits.Elements:
		return &assemble.Unreadable{Kind: assemble.TooLarge, Line: line, Column: column, Text: fmt.Sprintf("the file has more than %d elements", p.limits.Elements)}
	case len(p.open) >= p.limits.Depth:
		return &assemble.Unreadable{Kind: assemble.TooLarge, Line: line, Column: column, Text: fmt.Sprintf("elements lie more than %d deep in each other", p.limits.Depth)}
	}
	if len(t.Attr) > maxAttrs {
		return &assemble.Unreadable{Kind: assemble.TooLarge, Line: line, Column: column, Text: fmt.Sprintf("<%s> has more than %d attributes", t.Name.Local, maxAttrs)}
	}
	for i, a := range t.Attr {
		for _, b := range t.Attr[:i] {
			if a.Name == b.Name {
				return &assemble.Unreadable{Kind: assemble.Malformed, Line: line, Column: column, Text: fmt.Sprintf("<%s> has the attribute %q twice", t.Name.Local, a.Name.Local)}
			}
		}
	}
	if len(p.open) == 0 {
		return p.first(t, line, column)
	}
	parent := p.open[len(p.open)-1]
	if parent == nil || t.Name.Space != svgSpace && (t.Name.Space != "" || !p.bare()) {
		p.open = append(p.open, nil) // another namespace, and all that is in it
		return nil
	}
	n := &node{name: t.Name.Local, attrs: t.Attr, parent: parent, line: line, column: column}
	parent.kids = append(parent.kids, n)
	p.open = append(p.open, n)
	return nil
}

// bare tells whether the file names no namespace, as hand-written ones do.
func (p *parser) bare() bool { return p.root.attr("xmlns") == "" }

func (p *parser) first(t xml.StartElement, line, column int) error {
	if p.root != nil {
		return &assemble.Unreadable{Kind: assemble.Malformed, Line: line, Column: column, Text: fmt.Sprintf("something follows the end of the drawing: <%s>", t.Name.Local)}
	}
	if t.Name.Local != "svg" || t.Name.Space != svgSpace && t.Name.Space != "" {
		return &assemble.Unreadable{Kind: assemble.Unsupported, Line: line, Column: column, Text: fmt.Sprintf("the file is no SVG: it begins with <%s>", assemble.Clip(t.Name.Local))}
	}
	p.root = &node{name: "svg", attrs: t.Attr, line: line, column: column}
	p.open = append(p.open, p.root)
	return nil
}

func (p *parser) chars(t xml.CharData) {
	if len(p.open) == 0 {
		return
	}
	if n := p.open[len(p.open)-1]; n != nil && keepsText(n.name) {
		n.kids = append(n.kids, &node{data: string(t), parent: n})
	}
}

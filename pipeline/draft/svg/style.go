package svg

import (
	"cmp"
	"slices"
	"strings"
)

// Only what decides whether something is drawn, and what would move it, is taken from CSS.

// declaration is one property with its value; weight is 1 for !important.
type declaration struct {
	name, value string
	important   bool
}

// isGeometry tells of the properties of SVG 2 that change size and place. Of them only width and
// height of the whole drawing are applied; the others must be told where the element has them.
func isGeometry(name string) bool {
	switch name {
	case "transform", "transform-origin", "transform-box", "translate", "rotate", "scale", "offset-path", "zoom",
		"x", "y", "cx", "cy", "r", "rx", "ry", "width", "height", "d":
		return true
	}
	return false
}

// hasGeometry tells whether a geometry property means anything on an element (SVG 2, 7.1 and the
// property index): a width on a path, as some programs write it, does nothing.
func hasGeometry(element, property string) bool {
	switch property {
	case "x", "y", "width", "height":
		return element == "svg" || element == "rect" || element == "use" || element == "symbol"
	case "cx", "cy":
		return element == "circle" || element == "ellipse"
	case "r":
		return element == "circle"
	case "rx", "ry":
		return element == "rect" || element == "ellipse"
	case "d":
		return element == "path"
	}
	return true
}

// declarations reads the inside of a rule or of a style attribute and keeps what matters.
func declarations(text string) []declaration {
	var out []declaration
	for part := range strings.SplitSeq(text, ";") {
		name, value, ok := strings.Cut(part, ":")
		if !ok {
			continue
		}
		d := declaration{name: strings.ToLower(strings.TrimSpace(name)), value: strings.ToLower(strings.TrimSpace(value))}
		if rest, found := strings.CutSuffix(d.value, "important"); found {
			if v, bang := strings.CutSuffix(strings.TrimSpace(rest), "!"); bang {
				d.value, d.important = strings.TrimSpace(v), true
			}
		}
		switch d.name {
		case "display", "visibility", "clip-path", "mask", "font-size", "overflow",
			"fill", "stroke", "stroke-width", "opacity", "fill-opacity", "stroke-opacity":
			out = append(out, d)
		default:
			if isGeometry(d.name) {
				out = append(out, d)
			}
		}
	}
	return out
}

// rule is one selector of a style sheet with its declarations.
type rule struct {
	parts []compound // ancestors first, the element itself last
	decl  []declaration
	rank  int // specificity
}

// compound is a selector for one element; child tells that the one before it must be its parent.
type compound struct {
	element, id string
	classes     []string
	child       bool
}

// sheet reads a style element.
func (r *reader) sheet(n *node) {
	text := stripComments(n.text())
	for text != "" {
		open := strings.IndexByte(text, '{')
		semi := strings.IndexByte(text, ';')
		head := strings.TrimSpace(text[:max(open, 0)])
		if at := strings.TrimSpace(text); strings.HasPrefix(at, "@") {
			r.leave("style rule for special cases", "rules that begin with @ are not followed", "write what is hidden into the elements", n)
			if semi >= 0 && (open < 0 || semi < open) {
				text = text[semi+1:]
				continue
			}
			_, text = block(text, open)
			continue
		}
		if open < 0 {
			return
		}
		var body string
		body, text = block(text, open)
		r.addRules(n, head, declarations(body))
	}
	slices.SortStableFunc(r.rules, func(a, b rule) int { return cmp.Compare(a.rank, b.rank) })
}

// block splits after the brace at open: what is inside, and what follows.
func block(text string, open int) (body, rest string) {
	if open < 0 {
		return "", ""
	}
	depth := 0
	for i := open; i < len(text); i++ {
		switch text[i] {
		case '{':
			depth++
		case '}':
			if depth--; depth == 0 {
				return text[open+1 : i], text[i+1:]
			}
		}
	}
	return text[open+1:], ""
}

func stripComments(s string) string {
	s = strings.NewReplacer("<!--", " ", "-->", " ").Replace(s)
	var b strings.Builder
	for {
		start := strings.Index(s, "/*")
		if start < 0 {
			b.WriteString(s)
			return b.String()
		}
		b.WriteString(s[:start])
		end := strings.Index(s[start+2:], "*/")
		if end < 0 {
			return b.String()
		}
		s = s[start+2+end+2:]
	}
}

// maxRules bounds how much a style sheet may cost on every element.
const maxRules = 1000

func (r *reader) addRules(n *node, selectors string, decl []declaration) {
	if len(decl) == 0 {
		return
	}
	for sel := range strings.SplitSeq(selectors, ",") {
		parts, ok := selector(sel)
		if !ok || len(r.rules) >= maxRules {
			r.leave("style rule that is not understood", "it may hide something", "write what is hidden into the elements", n)
			continue
		}
		ru := rule{parts: parts, decl: decl}
		for _, c := range parts {
			if c.id != "" {
				ru.rank += 1_000_000
			}
			ru.rank += 1000 * len(c.classes)
			if c.element != "" {
				ru.rank++
			}
		}
		r.rules = append(r.rules, ru)
	}
}

// selector reads elements, classes and ids, one inside the other.
func selector(text string) (parts []compound, ok bool) {
	text = strings.ReplaceAll(text, ">", " > ")
	child := false
	for word := range strings.FieldsSeq(text) {
		if word == ">" {
			child = true
			continue
		}
		c := compound{child: child}
		child = false
		for i := 0; i < len(word); {
			end := i + 1
			for end < len(word) && word[end] != '.' && word[end] != '#' {
				end++
			}
			token := word[i:end]
			switch {
			case strings.ContainsAny(token, ":[]~+()\"'"):
				return nil, false
			case token[0] == '.':
				c.classes = append(c.classes, token[1:])
			case token[0] == '#':
				c.id = token[1:]
			case token == "*":
			default:
				c.element = token
			}
			i = end
		}
		parts = append(parts, c)
	}
	return parts, len(parts) > 0 && (len(parts) <= 3 || !anyChild(parts))
}

func (c *compound) matches(n *node) bool {
	if c.element != "" && c.element != n.name || c.id != "" && c.id != n.attr("id") {
		return false
	}
	return !slices.ContainsFunc(c.classes, func(want string) bool { return !hasClass(n.attr("class"), want) })
}

func hasClass(list, want string) bool {
	return slices.Contains(strings.Fields(list), want)
}

// fits tells whether a rule's parts fit the element and its ancestors. Taking the nearest ancestor
// that fits is right where only descendants are asked for; a parent ("a > b") may need a second try,
// so that rules with one are kept to three parts.
func (r *reader) fits(parts []compound, n *node) bool {
	last := len(parts) - 1
	if n == nil || !r.test(&parts[last], n) {
		return false
	}
	if last == 0 {
		return true
	}
	if parts[last].child {
		return r.fits(parts[:last], n.parent)
	}
	for a := n.parent; a != nil; a = a.parent {
		if r.fits(parts[:last], a) {
			return true
		}
		if !anyChild(parts[:last]) && r.test(&parts[last-1], a) {
			return false // the nearest that fits had no fitting ancestors, and no other has more
		}
	}
	return false
}

// maxStyleWork bounds the comparisons of elements with selectors.
const maxStyleWork = 50_000_000

func (r *reader) test(c *compound, n *node) bool {
	if r.styleWork++; r.styleWork > maxStyleWork {
		r.stop(n, "the style sheet is too large for so many elements")
		return false
	}
	return c.matches(n)
}

func anyChild(parts []compound) bool {
	return slices.ContainsFunc(parts, func(c compound) bool { return c.child })
}

// look is what CSS makes of an element, "" where nothing is said.
type look struct {
	display, visibility, clip, mask, font, overflow string
	fill, stroke                                    string
	strokeWidth, opacity, fillOpacity, strokeOpac   string
	geometry                                        string // a property that would move or size it
	width, height                                   string // as the style states them
}

// look follows the cascade: attribute, then rules by rank, then the style attribute; !important
// goes above, in the same order.
func (r *reader) look(n *node) look {
	var l look
	for i := range n.attrs {
		if a := &n.attrs[i]; a.Name.Space == "" {
			l.set(a.Name.Local, strings.TrimSpace(a.Value))
		}
	}
	styled := declarations(n.attr("style"))
	if len(r.rules) == 0 && len(styled) == 0 {
		return l
	}
	var matched []*rule
	for i := range r.rules {
		if r.fits(r.rules[i].parts, n) {
			matched = append(matched, &r.rules[i])
		}
	}
	for _, important := range []bool{false, true} {
		for _, ru := range matched {
			l.apply(n.name, ru.decl, important)
		}
		l.apply(n.name, styled, important)
	}
	return l
}

func (l *look) apply(element string, decl []declaration, important bool) {
	for _, d := range decl {
		if d.important != important {
			continue
		}
		switch {
		case l.set(d.name, d.value):
		case d.value == "none" || d.value == "auto" || !hasGeometry(element, d.name):
		default:
			l.geometry = d.name
			switch d.name {
			case "width":
				l.width = d.value
			case "height":
				l.height = d.value
			}
		}
	}
}

// set takes a property that a presentation attribute may also state; it tells whether it is one.
func (l *look) set(name, value string) bool {
	switch name {
	case "display":
		l.display = value
	case "visibility":
		l.visibility = value
	case "clip-path":
		l.clip = value
	case "mask":
		l.mask = value
	case "font-size":
		l.font = value
	case "overflow":
		l.overflow = value
	case "fill":
		l.fill = value
	case "stroke":
		l.stroke = value
	case "stroke-width":
		l.strokeWidth = value
	case "opacity":
		l.opacity = value
	case "fill-opacity":
		l.fillOpacity = value
	case "stroke-opacity":
		l.strokeOpac = value
	default:
		return false
	}
	return true
}

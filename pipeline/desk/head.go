package desk

import (
	"cmp"
	"maps"
	"regexp"
	"slices"
	"strings"
	"sync"

	yaml "go.yaml.in/yaml/v4"

	"tracewheel/pipeline/desk/cardtext"
	"tracewheel/pipeline/desk/checks"
	"tracewheel/pipeline/desk/mend"
	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/tape"
)

// head is what the page asks of a draft before it is drawn.
type head struct {
	Style  string                     `yaml:"style"`
	Unit   string                     `yaml:"unit"`
	Bodies map[string]cardtext.Values `yaml:"bodies"`
	Body   yaml.Node                  `yaml:"body"`
	Card   string                     `yaml:"card"`
	Sizes  yaml.Node                  `yaml:"sizes"`
	From   yaml.Node                  `yaml:"from"`
	first  string                     // of the bodies, as they are written
	said   map[string][]checks.Entry  // by section
	text   string
	block  *head // what is taken from, nil for nothing
}

// heads are those that were read last, the newest first: one keystroke asks several times for those of the text as it is and as
// it was. Nobody changes what a head holds.
var heads struct {
	sync.Mutex
	last [4]head
}

// headOfText reads it as far as it can be read.
func headOfText(text string) (h head) {
	heads.Lock()
	defer heads.Unlock()
	for _, h := range heads.last {
		if h.text == text {
			return h
		}
	}
	var doc yaml.Node
	if yaml.Unmarshal([]byte(text), &doc) == nil {
		_ = doc.Decode(&h) // of half a draft what there is
		h.said = checks.Sections(&doc)
	}
	h.text = text
	if bodies := h.said["bodies"]; len(bodies) > 0 {
		h.first = bodies[0].Key
	}
	copy(heads.last[1:], heads.last[:])
	heads.last[0] = h
	return h
}

// headWith reads it with the blocks that the draft takes from: their bodies are the draft's where it tells none, names no
// card and chooses none but theirs, and their measures are asked for in any case. A block that cannot be had is told by the
// drawing.
func (d *Desk) headWith(name, text string) head {
	h := headOfText(text)
	if h.From.Kind == 0 {
		return h
	}
	own, says := h.Card == "" && len(h.Bodies) == 0, map[string]*yaml.Node{}
	for key, node := range map[string]*yaml.Node{"body": &h.Body, "sizes": &h.Sizes} {
		if own && node.Kind != 0 {
			says[key] = node
		}
	}
	h.block = d.blockOf(name, h, says)
	switch {
	case own && h.block != nil && len(h.block.Bodies) > 0:
		h.Bodies, h.Body, h.first = h.block.Bodies, h.block.Body, h.block.first
	case len(says) > 0: // somebody is named who is none of their bodies
		h.block = d.blockOf(name, h, nil)
	}
	return h
}

// blockOf is what a draft takes from blocks where it says no more than these keys, nil where they cannot be had.
func (d *Desk) blockOf(name string, h head, says map[string]*yaml.Node) *head {
	stubbed := map[string]any{"from": &h.From}
	if h.Unit != "" {
		stubbed["unit"] = h.Unit
	}
	for key, node := range says {
		stubbed[key] = node
	}
	stub, err := yaml.Marshal(stubbed)
	if err != nil {
		return nil
	}
	whole, err := d.maker().Whole(stub, d.fileOf(name))
	if err != nil {
		return nil
	}
	block := headOfText(string(whole))
	return &block
}

// unit is that of the draft's own lengths.
func (h head) unit() string { return unitOr(h.Unit, "cm") }

// unitOr is a unit that a form or a file says, the other one where it says none that is known.
func unitOr(said, other string) string {
	if slices.Contains([]string{"mm", "cm", "in"}, said) {
		return said
	}
	return other
}

// unitFor is the unit in which a body's measures are written: a card's own, which may be another one than the draft's.
func (d *Desk) unitFor(h head, body string) string {
	if h.tells(body) {
		return h.unit()
	}
	_, text, err := d.cardFile(body)
	if err != nil {
		return h.unit()
	}
	return unitOr(cardtext.Unit(text), h.unit())
}

// drawnFor finds in a draft's first lines whom it says that it is drawn for.
var drawnFor = regexp.MustCompile(`\bfor an? (woman|man|child)\b`)

// kind is whose measures are usual where no card says: whom the comment at the draft's head says that it is for, "" for nobody.
func (h head) kind() string {
	for line := range strings.Lines(h.text) {
		if !strings.HasPrefix(line, "#") {
			return ""
		}
		if m := drawnFor.FindStringSubmatch(line); m != nil {
			return m[1]
		}
	}
	return ""
}

// bodyNames are the names of the draft's bodies, in order.
func (h head) bodyNames() []string { return append([]string{}, slices.Sorted(maps.Keys(h.Bodies))...) }

// tells says whether a body's measures stand in the draft and on no card.
func (h head) tells(body string) bool {
	_, own := h.Bodies[body]
	return own || body == "" && h.Body.Kind == yaml.MappingNode
}

// bodyOf is the body or card that a page draws where none is asked for: the one that the draft itself takes. "" is for
// measures that the draft tells under body:, and for none.
func bodyOf(h head, asked string) string {
	if asked != "" {
		return asked
	}
	switch h.Body.Kind {
	case yaml.ScalarNode:
		if own := strings.TrimSpace(h.Body.Value); own != "" {
			return own
		}
	case yaml.MappingNode:
		return ""
	case 0:
		if sizes := drafting.SizesOf(&h.Sizes); len(sizes) > 0 {
			return sizes[0]
		}
	}
	if h.Card != "" {
		return pattern.TrimYAML(h.Card)
	}
	return h.first
}

// measuresOf are a body's measures as the draft or a card writes them, the kind of its wearer, and the names of all
// that the draft's bodies and those of its blocks have, in the order in which one measures.
func (d *Desk) measuresOf(h head, body string) (values map[string]string, kind string, names []string) {
	put := func(more map[string]string) {
		for name := range more {
			if !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
	}
	for _, b := range h.Bodies {
		put(b)
	}
	told, own := h.Bodies[body]
	if body == "" && h.Body.Kind == yaml.MappingNode {
		own = h.Body.Decode(&told) == nil
		put(told)
	}
	values = told
	if !own {
		values, kind = d.card(body)
	}
	kind = cmp.Or(kind, h.kind())
	known := len(names) > 0
	if !known {
		names = slices.Collect(maps.Keys(values))
	}
	if h.block != nil {
		for _, b := range h.block.Bodies {
			put(b)
			known = true
		}
	}
	if !known { // what a card lacks can be written all the same
		text := h.text
		if h.block != nil {
			text += "\n" + h.block.text
		}
		put(mend.MeasuresIn(text))
	}
	slices.SortFunc(names, tape.Compare)
	return values, kind, names
}

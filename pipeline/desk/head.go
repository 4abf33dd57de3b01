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
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/tape"
)

// head is what the page needs of a draft before it is drawn.
type head struct {
	Style  string                     `yaml:"style"`
	Unit   string                     `yaml:"unit"`
	Bodies map[string]cardtext.Values `yaml:"bodies"`
	Body   yaml.Node                  `yaml:"body"`
	Card   string                     `yaml:"card"`
	Sizes  yaml.Node                  `yaml:"sizes"`
	From   yaml.Node                  `yaml:"from"`
	first  string                     // the first of the bodies, in their order in the text
	said   map[string][]checks.Entry  // by section
	text   string
	block  *head // what is taken from blocks, nil for nothing
}

// heads caches the heads that were read last, the newest first: a keystroke needs those of the present and of the earlier
// text several times. A head is not changed after it is read.
var heads struct {
	sync.Mutex
	last [4]head
}

// headOfText reads the head as far as the text can be read.
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
		_ = doc.Decode(&h) // an incomplete draft gives what can be read
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

// headWith reads the head with the blocks that the draft takes from. The bodies of the blocks are the draft's where it
// has none, names no card and chooses only among theirs; their measures are always asked for. The drawing reports a
// block that is missing.
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
	case len(says) > 0: // a body is named that is not one of theirs
		h.block = d.blockOf(name, h, nil)
	}
	return h
}

// blockOf is what a draft with only these keys takes from blocks, nil where they are missing.
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

// unit is the unit of the draft's own lengths.
func (h head) unit() string { return unitOr(h.Unit, "cm") }

// unitOr is the unit said in a form or a file, else the other one.
func unitOr(said, other string) string {
	if slices.Contains([]string{"mm", "cm", "in"}, said) {
		return said
	}
	return other
}

// unitFor is the unit of a body's measures: a card's own, which may differ from the draft's.
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

// drawnFor finds in a draft's first lines for whom it is drawn.
var drawnFor = regexp.MustCompile(`\bfor an? (woman|man|child)\b`)

// kind is the kind of wearer where no card says it: the one in the comment at the draft's head, "" for none.
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

// tells reports whether a body's measures are in the draft and not on a card.
func (h head) tells(body string) bool {
	_, own := h.Bodies[body]
	return own || body == "" && h.Body.Kind == yaml.MappingNode
}

// bodyOf is the body or card that a page draws by default: the one that the draft itself draws. "" is for measures
// that the draft has under body:, and for none.
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

// measuresOf are a body's measures as the draft or a card has them, the kind of the wearer, and the names of all
// measures of the draft's bodies and its blocks', in the order in which a person measures.
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
	if !known { // a missing measure can be entered
		text := h.text
		if h.block != nil {
			text += "\n" + h.block.text
		}
		put(mend.MeasuresIn(text))
	}
	return values, kind, h.withSides(names, values)
}

// withSides adds to the names of measures those of one side among the values, "left hip", where the draft has a measure or number
// without that word, and puts them in the order in which a person measures; those of one side follow that of both.
func (h head) withSides(names []string, values map[string]string) []string {
	known := h.fitNames(names)
	for name := range values {
		if side, of := sentence.SideOf(name); side != "" && slices.Contains(known, of) && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	slices.SortFunc(names, func(a, b string) int {
		sideA, ofA := sentence.SideOf(a)
		sideB, ofB := sentence.SideOf(b)
		return cmp.Or(tape.Compare(ofA, ofB), cmp.Compare(sideA, sideB))
	})
	return names
}

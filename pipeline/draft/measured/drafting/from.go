package drafting

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"

	yaml "go.yaml.in/yaml/v4"

	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/pattern"
)

// blocksDeep is how many drafts may take from one another in a row; a longer row is nobody's to see through.
const blocksDeep = 4

// wholeKeys are the sections of which a block's lines are brought in, beside its drawings; bodyKeys those that are where
// the draft tells no body of its own; headKeys stand above all that is drawn.
var (
	wholeKeys = []string{"numbers", "holds for"}
	bodyKeys  = []string{"kind", "bodies", "body"}
	headKeys  = []string{"style", "note", "unit", "wearer", "kind", "card", "bodies", "body", "sizes", "numbers"}
)

// bringIn puts the drawings and numbers of the blocks that from: names before those of the draft. It gives false where a
// block cannot be had.
func (e *Draft) bringIn(opt Options) bool {
	if at := valueOf(e.Document.Root, "from"); at != nil {
		e.From = at
		b := blocks{e: e, fetch: opt.Block}
		e.Document.Root = b.whole(e.Document.Root, []string{pattern.TrimYAML(filepath.Base(e.Document.Name))})
	}
	return len(e.Faults) == 0
}

// Whole is the draft with all that it takes from blocks, as one document that takes from none; nil where a block cannot
// be had.
func (e *Draft) Whole(opt Options) *yaml.Node {
	if !e.bringIn(opt) {
		return nil
	}
	return e.Document.Root
}

// blocks fetches what a draft takes from.
type blocks struct {
	e     *Draft
	fetch func(name string) ([]byte, error)
}

// whole is a draft's mapping without from:, and with what it names; row are the drafts that led here, this one last.
func (b *blocks) whole(own *yaml.Node, row []string) *yaml.Node {
	at := valueOf(own, "from")
	if at == nil {
		return own
	}
	out := own
	names := SizesOf(at)
	if len(names) == 0 {
		b.e.AddFault(at, "which draft is taken from is not said", "write the name of its file: from: block.yaml")
	}
	for _, name := range slices.Backward(names) { // each is put before what is there
		if doc := b.read(itemOf(at, name), name, row); doc != nil {
			out = b.merge(out, b.whole(doc.Root, append(slices.Clone(row), pattern.TrimYAML(name))), doc.Name)
		}
	}
	return without(out, "from")
}

// itemOf is the item of a list that says a name, or the node itself.
func itemOf(at *yaml.Node, name string) *yaml.Node {
	for _, item := range at.Content {
		if strings.TrimSpace(item.Value) == name {
			return item
		}
	}
	return at
}

// read fetches and reads a block that is named at a place; nil where that is refused.
func (b *blocks) read(at *yaml.Node, name string, row []string) *sentence.Document {
	e := b.e
	switch {
	case name != filepath.Base(name) || strings.ContainsAny(name, `/\`) || strings.HasPrefix(name, "."):
		e.AddFault(at, sentence.Quote(name)+" leads to another folder", "write the name of the file alone; it lies beside this draft or in the workroom's folder drafts")
		return nil
	case slices.Contains(row, pattern.TrimYAML(name)):
		e.AddFault(at, "the drafts take from one another in a circle: "+strings.Join(append(slices.Clone(row), pattern.TrimYAML(name)), " takes from "), "take one from: out")
		return nil
	case len(row) > blocksDeep:
		e.AddFault(at, fmt.Sprintf("more than %d drafts take from one another: %s", blocksDeep, strings.Join(append(slices.Clone(row), pattern.TrimYAML(name)), " takes from ")), "take from the lowest of them directly")
		return nil
	case b.fetch == nil:
		e.AddFault(at, sentence.Quote(name)+" cannot be had: this draft is read without its folder", "save the draft beside it first")
		return nil
	}
	data, err := b.fetch(name)
	if err != nil {
		text, mend := fmt.Sprintf("the draft %q cannot be read: %v", name, err), "put it beside this draft"
		if errors.Is(err, fs.ErrNotExist) {
			text, mend = sentence.Quote(name)+" is no draft beside this one or in the workroom's folder drafts", "put it there; its name ends in .yaml"
			var folder interface{ Cards() []string } // an error that knows which there are
			if errors.As(err, &folder) {
				if near := sentence.Nearest(pattern.TrimYAML(name), folder.Cards()); strings.HasPrefix(near, "did") {
					mend = near
				}
			}
		}
		e.AddFault(at, text, mend)
		return nil
	}
	doc, faults := sentence.ParseDoc(data, fileName(name))
	if faults != nil {
		e.Faults = append(e.Faults, faults...)
		return nil
	}
	e.Document.BringIn(doc)
	if unit := valueOf(doc.Root, "unit"); unit == nil || unit.Value != unitOf(e.Document.Root) {
		said := "does not say its unit"
		if unit != nil {
			said = "is written in " + sentence.SpokenUnit(unit.Value)
		}
		e.AddFault(at, sentence.Quote(name)+" "+said+", and this draft in "+sentence.SpokenUnit(unitOf(e.Document.Root)), "write both in the same unit")
		return nil
	}
	if !slices.ContainsFunc(keysOf(doc.Root), func(k string) bool { return k == "numbers" || strings.HasPrefix(k, "draft ") }) {
		e.AddFault(at, sentence.Quote(name)+" holds no drawings and no numbers", "name a draft that has them")
		return nil
	}
	return doc
}

// merge gives a draft with a block's drawings and numbers before its own, in a document of its own. A number that both
// tell is the draft's; a drawing that both tell is a fault.
func (b *blocks) merge(own, block *yaml.Node, file string) *yaml.Node {
	var add []*yaml.Node // whole sections of the block
	joined := map[string]*yaml.Node{}
	ownBody, chosen := tellsBodies(own, block)
	each(block, func(k, v *yaml.Node) {
		key := keyText(k)
		there := valueOf(own, key)
		switch {
		case slices.Contains(wholeKeys, key) && there != nil:
			joined[key] = b.joinLines(there, v)
		case strings.HasPrefix(key, "draft ") && there != nil:
			b.e.AddFault(keyOf(own, key), "the "+strings.Replace(key, "draft ", "drawing ", 1)+" comes from "+file+" too",
				"give this one another name, and begin it with trace: "+strings.TrimPrefix(key, "draft "))
		case strings.HasPrefix(key, "draft "), slices.Contains(wholeKeys, key), slices.Contains(bodyKeys, key) && !ownBody && there == nil && (key != "body" || !chosen):
			add = append(add, k, v)
		}
	})
	out, placed := mappingLike(own), false
	each(own, func(k, v *yaml.Node) {
		if !placed && k.Value != "from" && !slices.Contains(headKeys, k.Value) {
			out.Content, placed = append(out.Content, add...), true
		}
		if j := joined[k.Value]; j != nil {
			v = j
		}
		out.Content = append(out.Content, k, v)
	})
	if !placed {
		out.Content = append(out.Content, add...)
	}
	return out
}

// tellsBodies tells whether a draft has bodies or a card of its own, so that the block's do not come in, and whether it
// chooses among the block's: its body or all of its sizes are called as one there.
func tellsBodies(own, block *yaml.Node) (has, chosen bool) {
	if valueOf(own, "card") != nil || valueOf(own, "bodies") != nil {
		return true, false
	}
	bodies := valueOf(block, "bodies")
	var names []string
	for _, key := range []string{"body", "sizes"} {
		if n := valueOf(own, key); n != nil {
			names = append(names, SizesOf(n)...)
		}
	}
	for _, name := range names {
		if bodies == nil || keyOf(bodies, name) == nil {
			return true, false
		}
	}
	return false, len(names) > 0
}

// joinLines gives a section with the block's lines first; one of the draft's own stands in the place of the block's.
func (b *blocks) joinLines(own, block *yaml.Node) *yaml.Node {
	if own.Kind != yaml.MappingNode || block.Kind != yaml.MappingNode {
		return own
	}
	out := mappingLike(own)
	each(block, func(k, v *yaml.Node) {
		if valueOf(own, k.Value) == nil {
			out.Content = append(out.Content, k, v)
		}
	})
	out.Content = append(out.Content, own.Content...)
	return out
}

// mappingLike is an empty mapping at the place of another.
func mappingLike(n *yaml.Node) *yaml.Node {
	c := *n
	c.Content, c.Style = nil, 0
	return &c
}

func each(n *yaml.Node, do func(k, v *yaml.Node)) {
	if n.Kind != yaml.MappingNode {
		return
	}
	for i := 0; i+1 < len(n.Content); i += 2 {
		do(n.Content[i], n.Content[i+1])
	}
}

// valueOf and keyOf are what a mapping tells of a key, nil for nothing.
func valueOf(n *yaml.Node, key string) (out *yaml.Node) {
	each(n, func(k, v *yaml.Node) {
		if out == nil && keyText(k) == key {
			out = v
		}
	})
	return out
}

func keyOf(n *yaml.Node, key string) (out *yaml.Node) {
	each(n, func(k, _ *yaml.Node) {
		if out == nil && keyText(k) == key {
			out = k
		}
	})
	return out
}

func keysOf(n *yaml.Node) (out []string) {
	each(n, func(k, _ *yaml.Node) { out = append(out, keyText(k)) })
	return out
}

func without(n *yaml.Node, key string) *yaml.Node {
	out := mappingLike(n)
	each(n, func(k, v *yaml.Node) {
		if k.Value != key {
			out.Content = append(out.Content, k, v)
		}
	})
	return out
}

func unitOf(n *yaml.Node) string {
	if u := valueOf(n, "unit"); u != nil {
		return strings.TrimSpace(u.Value)
	}
	return "none"
}

// fileName is a draft's name with its ending.
func fileName(name string) string {
	if pattern.TrimYAML(name) == name {
		return name + ".yaml"
	}
	return name
}

package dxf

import (
	"bytes"
	"strings"

	"tracewheel/pipeline/draft/assemble"
)

// entity is one entity of the file: its tags without the first, and where the next entity that is
// not one of its vertices stands.
type entity struct {
	kind     string
	at       int32
	from, to int32 // in file.tags
	next     int32 // in the list the entity stands in
	open     bool  // a POLYLINE whose SEQEND is missing
}

// block is a named drawing that inserts refer to.
type block struct {
	name     string
	at       int32
	head     entity
	list     []entity
	inserted bool
}

// layout tells whether the block is a page or an anonymous one, which is never a piece.
func (b *block) layout() bool {
	return strings.HasPrefix(b.name, "*") || strings.HasPrefix(b.name, "$")
}

// layer is how the table of layers says a layer is shown.
type layer struct{ off, frozen bool }

// file is a DXF file taken apart.
type file struct {
	*source
	texts
	tags    []tag
	version string
	unit    int // $INSUNITS, -1 where it is missing
	layers  map[string]layer
	blocks  map[string]*block
	order   []*block
	main    []entity
	clips   clips
}

type parser struct {
	*scanner
	f      *file
	limits Limits
	stored int
	kinds  map[string]string
	t      tag // the tag looked at
}

// advance goes to the next tag. A file that ends before its EOF mark is refused.
func (p *parser) advance() error {
	t, more, err := p.next()
	if err != nil {
		return err
	}
	if !more {
		return p.errorAt(assemble.Malformed, p.end(), "the file ends without its EOF mark; it is cut short or still being written")
	}
	p.t = t
	return nil
}

func (p *parser) end() int32 {
	if p.binary {
		return int32(len(p.data))
	}
	return p.scanner.at - 1
}

// is compares the tag looked at, whose value is a word.
func (p *parser) is(code int16, word string) bool {
	return p.t.code == code && bytes.EqualFold(p.word(p.t), []byte(word))
}

// stops tells whether a section surely ends here, rightly or not.
func (p *parser) stops() bool {
	return p.t.code == 0 && (p.is(0, "ENDSEC") || p.is(0, "SECTION") || p.is(0, "EOF"))
}

func (p *parser) skip() error {
	for !p.stops() {
		if err := p.advance(); err != nil {
			return err
		}
	}
	return nil
}

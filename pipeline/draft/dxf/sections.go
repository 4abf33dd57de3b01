package dxf

import (
	"bytes"
	"strings"

	"tracewheel/pipeline/draft/assemble"
)

// parse reads the sections.
func parse(data []byte, limits Limits) (*file, error) {
	s, err := open(data, limits)
	if err != nil {
		return nil, err
	}
	f := &file{source: s.source, unit: -1, layers: map[string]layer{}, blocks: map[string]*block{}}
	p := &parser{scanner: s, f: f, limits: limits, kinds: map[string]string{}}
	if err := p.advance(); err != nil {
		return nil, err
	}
	for !p.is(0, "EOF") {
		if !p.is(0, "SECTION") {
			return nil, p.errorAt(assemble.Malformed, p.t.at, "a section was expected, found %q; the file is no DXF or has lost lines", assemble.Clip(string(p.raw(p.t))))
		}
		if err := p.section(); err != nil {
			return nil, err
		}
	}
	return f, nil
}

func (p *parser) section() error {
	start := p.t.at
	if err := p.advance(); err != nil {
		return err
	}
	if p.t.code != 2 {
		return p.errorAt(assemble.Malformed, p.t.at, "the name of a section was expected, found code %d", p.t.code)
	}
	name := strings.ToUpper(string(p.word(p.t)))
	if err := p.advance(); err != nil {
		return err
	}
	var err error
	switch name {
	case "HEADER":
		err = p.header()
	case "TABLES":
		err = p.tables()
	case "BLOCKS":
		err = p.blocks()
	case "ENTITIES":
		p.f.main, err = p.entities(p.f.main, "ENDSEC")
	case "OBJECTS":
		err = p.objects()
	default:
		err = p.skip()
	}
	if err != nil {
		return err
	}
	if !p.is(0, "ENDSEC") {
		return p.errorAt(assemble.Malformed, p.t.at, "the section %q that begins at %s does not end with ENDSEC, %q was found there; lines are missing",
			assemble.Clip(name), p.place(start), assemble.Clip(string(p.raw(p.t))))
	}
	return p.advance()
}

func (p *parser) blocks() error {
	p.f.settle(p.f.version, p.source)
	for !p.stops() {
		if !p.is(0, "BLOCK") {
			if p.t.code == 0 && !p.is(0, "ENDBLK") {
				return p.errorAt(assemble.Malformed, p.t.at, "%q stands between two blocks; lines are missing", assemble.Clip(string(p.raw(p.t))))
			}
			if err := p.advance(); err != nil {
				return err
			}
			continue
		}
		if err := p.block(); err != nil {
			return err
		}
	}
	return nil
}

func (p *parser) block() error {
	head, err := p.entity()
	if err != nil {
		return err
	}
	b := &block{at: head.at, head: head}
	for _, t := range p.f.tags[head.from:head.to] {
		if t.code == 2 {
			b.name = strings.TrimSpace(p.f.text(p.raw(t)))
			break
		}
	}
	if b.list, err = p.entities(nil, "ENDBLK"); err != nil {
		return err
	}
	if !p.is(0, "ENDBLK") {
		return p.errorAt(assemble.Malformed, p.t.at, "the block %q that begins at %s does not end with ENDBLK; lines are missing", assemble.Clip(b.name), p.place(b.at))
	}
	key := layerKey(b.name)
	if twice, ok := p.f.blocks[key]; ok {
		return p.errorAt(assemble.Malformed, b.at, "the block %q is defined a second time, first at %s", assemble.Clip(b.name), p.place(twice.at))
	}
	p.f.blocks[key] = b
	p.f.order = append(p.f.order, b)
	return nil
}

// entities reads a list of entities up to a 0-group that cannot stand in it.
func (p *parser) entities(list []entity, end string) ([]entity, error) {
	p.f.settle(p.f.version, p.source)
	poly := -1
	for !p.stops() && !p.is(0, end) && !p.is(0, "BLOCK") {
		e, err := p.entity()
		if err != nil {
			return nil, err
		}
		i := len(list)
		if poly >= 0 {
			switch e.kind {
			case "VERTEX":
			case "SEQEND":
				list[poly].open = false
				list[poly].next = int32(i + 1)
				poly = -1
			default:
				list[poly].next = int32(i)
				poly = -1
			}
		}
		e.next = int32(i + 1)
		if e.kind == "POLYLINE" {
			poly, e.open = i, true
		}
		list = append(list, e)
	}
	if poly >= 0 {
		list[poly].next = int32(len(list))
	}
	return list, nil
}

// entity reads one entity, from its 0-group to before the next.
func (p *parser) entity() (entity, error) {
	if p.t.code != 0 {
		return entity{}, p.errorAt(assemble.Malformed, p.t.at, "an entity was expected, found code %d", p.t.code)
	}
	if p.stored++; p.stored > p.limits.Stored {
		return entity{}, p.errorAt(assemble.TooLarge, p.t.at, "the file has more than %d entities", p.limits.Stored)
	}
	e := entity{kind: p.kind(), at: p.t.at, from: int32(len(p.f.tags))}
	group, dictionary := false, false
	for {
		if err := p.advance(); err != nil {
			return e, err
		}
		switch {
		case p.t.code == 0:
			e.to = int32(len(p.f.tags))
			return e, nil
		case p.t.code == 102:
			w := p.word(p.t)
			group, dictionary = bytes.HasPrefix(w, []byte("{")), bytes.EqualFold(w, []byte("{ACAD_XDICTIONARY"))
		case dictionary && p.t.code == 360 && e.kind == "INSERT":
			p.f.clips.ofInsert(e.at, string(p.word(p.t)))
		case group, p.t.code >= 1000, p.t.code == 5, p.t.code >= 300 && p.t.code < 370, p.t.code == 100, p.t.code < 0:
			// extension groups, extended data, handles and marks say nothing of the shape
		default:
			p.f.tags = append(p.f.tags, p.t)
		}
	}
}

// kind gives the name of an entity, of which there are few.
func (p *parser) kind() string {
	w := p.word(p.t)
	if k, ok := p.kinds[string(w)]; ok {
		return k
	}
	k := strings.ToUpper(string(w))
	if len(p.kinds) < 1000 {
		p.kinds[string(w)] = k
	}
	return k
}

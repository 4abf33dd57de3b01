package dxf

import (
	"strings"
)

func (p *parser) header() error {
	var name string
	for !p.stops() {
		if p.t.code == 9 {
			name = strings.ToUpper(string(p.word(p.t)))
		} else {
			p.headerValue(name)
		}
		if err := p.advance(); err != nil {
			return err
		}
	}
	return nil
}

func (p *parser) headerValue(name string) {
	switch {
	case name == "$ACADVER" && p.t.code == 1:
		p.f.version = strings.ToUpper(string(p.word(p.t)))
	case name == "$DWGCODEPAGE" && p.t.code == 3:
		p.f.page = strings.ToUpper(string(p.word(p.t)))
	case name == "$INSUNITS" && p.t.code == 70:
		if v, ok := p.number(p.t); ok && v == float64(int(v)) {
			p.f.unit = int(v)
		}
	}
}

// tables keeps what the table of layers says; names are decoded when all of the header is known,
// which is before this section.
func (p *parser) tables() error {
	p.f.settle(p.f.version, p.source)
	for !p.stops() {
		if !p.is(0, "LAYER") {
			if err := p.advance(); err != nil {
				return err
			}
			continue
		}
		if err := p.layer(); err != nil {
			return err
		}
	}
	return nil
}

func (p *parser) layer() error {
	var name string
	var l layer
	for {
		if err := p.advance(); err != nil {
			return err
		}
		switch p.t.code {
		case 0:
			if name != "" {
				p.f.layers[name] = l
			}
			return nil
		case 2:
			name = layerKey(p.f.text(p.word(p.t)))
		case 62:
			v, _ := p.number(p.t)
			l.off = v < 0
		case 70:
			v, _ := p.number(p.t)
			l.frozen = int(v)&1 != 0
		}
	}
}

func layerKey(name string) string { return strings.ToLower(strings.TrimSpace(name)) }

// objects reads the section that holds clips; all else in it says nothing of the shape.
func (p *parser) objects() error {
	c := &p.f.clips
	c.entry, c.filter = map[string]string{}, map[string]bool{}
	var kind, handle, key string
	for !p.stops() {
		switch w := p.word(p.t); {
		case p.t.code == 0:
			kind, handle, key = strings.ToUpper(string(w)), "", ""
		case p.t.code == 5:
			if handle = string(w); kind == "SPATIAL_FILTER" {
				c.filter[handle] = true
			}
		case kind == "SPATIAL_FILTER" && p.t.code == 71:
			if v, ok := p.number(p.t); ok && v == 0 {
				delete(c.filter, handle)
			}
		case kind == "DICTIONARY" && p.t.code == 3:
			key = strings.ToUpper(string(w))
		case kind == "DICTIONARY" && (p.t.code == 350 || p.t.code == 360):
			if key == "ACAD_FILTER" || key == "SPATIAL" {
				c.entry[handle] = string(w)
			}
			key = ""
		}
		if err := p.advance(); err != nil {
			return err
		}
	}
	return nil
}

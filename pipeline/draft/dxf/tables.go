package dxf

import "strings"

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

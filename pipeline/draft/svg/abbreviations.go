package svg

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"strings"
	"tracewheel/pipeline/draft/assemble"
)

// Bounds of the entities that a file declares: what drawing programs abbreviate so are the addresses
// of namespaces.
const (
	maxEntities    = 200
	maxEntityBytes = 500
)

// declared is one plain declaration of an entity. What is not of this form - one kept elsewhere, one
// for declarations only - is refused, as is a value that holds markup or other entities.
var declared = regexp.MustCompile(`^<!ENTITY\s+([A-Za-z_:][A-Za-z0-9_.:-]*)\s+("[^"]*"|'[^']*')\s*>`)

// entities takes the abbreviations that a document type declares. They are expanded where they stand
// only: a value may not refer to others, so that nothing grows beyond its bounds.
func (p *parser) entities(directive []byte) error {
	rest := directive
	for {
		at := bytes.Index(bytes.ToUpper(rest), []byte("<!ENTITY"))
		if at < 0 {
			return p.boundEntities()
		}
		rest = rest[at:]
		m := declared.FindSubmatch(rest)
		if m == nil {
			return errors.New("the file declares entities that are kept elsewhere or are no plain text; nothing outside the file is opened: save it without them")
		}
		name, value := string(m[1]), string(m[2][1:len(m[2])-1])
		switch {
		case strings.ContainsAny(value, "<&%"):
			return fmt.Errorf("the entity %q holds other entities or elements; such files are not read: save it without them", assemble.Clip(name))
		case len(value) > maxEntityBytes || len(p.d.Entity) >= maxEntities:
			return fmt.Errorf("the file declares more than %d entities, or one of more than %d bytes; save it without them", maxEntities, maxEntityBytes)
		}
		if p.d.Entity == nil {
			p.d.Entity = map[string]string{}
		}
		if _, twice := p.d.Entity[name]; !twice { // the first declaration binds (XML 1.0, 4.2)
			p.d.Entity[name] = value
		}
		rest = rest[len(m[0]):]
	}
}

// boundEntities refuses a file that could grow beyond the bytes that are read.
func (p *parser) boundEntities() error {
	longest := 0
	for _, v := range p.d.Entity {
		longest = max(longest, len(v))
	}
	if longest*p.references > p.limits.Bytes {
		return fmt.Errorf("the file would have more than %d bytes with its entities written out; save it without them", p.limits.Bytes)
	}
	return nil
}

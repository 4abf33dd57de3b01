package dxf

import "strings"

// clips is what a file says of inserts that are shown only in part: an insert owns a dictionary, its
// entry ACAD_FILTER is a dictionary, of which the entry SPATIAL is the clip (DXF reference, objects
// DICTIONARY and SPATIAL_FILTER).
type clips struct {
	dictionary map[int32]string  // of an insert, by its place
	entry      map[string]string // of those two entries, from the dictionary's handle to the object's
	filter     map[string]bool   // of clips that are switched on
}

func (c *clips) ofInsert(at int32, handle string) {
	if c.dictionary == nil {
		c.dictionary = map[int32]string{}
	}
	c.dictionary[at] = handle
}

// hides tells whether only a part of the insert at a place is shown.
func (c *clips) hides(at int32) bool {
	dictionary, has := c.dictionary[at]
	return has && c.filter[c.entry[c.entry[dictionary]]]
}

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

package dxf

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

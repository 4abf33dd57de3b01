package tree

// Place is where a number, a point or an edge is told: its name's letter in the file, its sentence from
// one letter up to another, and the places of the names in it. Lines and columns count from 1.
type Place struct {
	Drawing      string // empty for what the draft tells as a whole
	Name         string
	Kind         Kind
	Line, Column int
	From, To     Spot
	Uses         []UsePlace
}

// Spot is a letter of the file.
type Spot struct{ Line, Column int }

// UsePlace is where a sentence names something that Drawing tells.
type UsePlace struct {
	Drawing, Name string
	From, To      Spot
}

// Places lists what the document tells, in its order: the sentence of a point, and the point of a sentence.
// Measures that a card tells are left out; of a sentence that cannot be read, the names before its slip stand.
func (e *Context) Places() []Place {
	var out []Place
	for _, sc := range append([]*Scope{e.Top}, e.Scopes...) {
		for _, n := range sc.Order {
			d := sc.Definitions[n]
			if d.Sentence.File != e.Document.Name {
				continue
			}
			spot := func(i int) Spot {
				line, column := d.Sentence.Place(i)
				return Spot{line, column}
			}
			p := Place{Drawing: sc.Name, Name: n, Kind: d.Kind, Line: d.Line, Column: d.Column, From: spot(0), To: spot(len(d.Sentence.Text))}
			if d.parser != nil {
				for _, u := range d.parser.Uses {
					p.Uses = append(p.Uses, UsePlace{u.Definition.scope.Name, u.Definition.name, spot(u.From), spot(u.To)})
				}
			}
			out = append(out, p)
		}
	}
	return out
}

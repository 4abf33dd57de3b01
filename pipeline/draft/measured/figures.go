package measured

// Figures is what a person checks with a tape and chalks from: all lengths in the draft's unit.
type Figures struct {
	Style   string         `json:"style"`
	Body    string         `json:"body"`
	Fitted  string         `json:"fitted,omitempty"` // dates of the fittings that went into the measures
	Unit    string         `json:"unit"`
	Numbers []NamedNumber  `json:"numbers"`
	Pieces  []PieceFigures `json:"pieces"`
	Girths  []Girth        `json:"girths"`
	Seams   []SeamFigures  `json:"seams"`
	Notions []Notion       `json:"notions"`
	Truings []Truing       `json:"truings"`
}

// NamedNumber is a derived number.
type NamedNumber struct {
	Name  string  `json:"name"`
	Value float64 `json:"value"`
}

// PieceFigures are a piece's edges and its marking-out list.
type PieceFigures struct {
	Name     string        `json:"name"`
	Quantity int           `json:"quantity"`
	Pair     bool          `json:"pair"`
	Material string        `json:"material"`
	Area     float64       `json:"area"` // as cut, net, in the unit squared
	Edges    []EdgeFigures `json:"edges"`
	Marking  MarkingOut    `json:"marking_out"`
}

// EdgeFigures is an edge's length as worn and as cut.
type EdgeFigures struct {
	Name string  `json:"name"`
	Worn float64 `json:"worn"`
	Cut  float64 `json:"cut"`
	// Allowance is what is added to it, as written for the tape; "" where the outline is the cut line.
	Allowance string `json:"allowance"`
	Fold      bool   `json:"fold"`
}

// Girth is a promise and what came of it.
type Girth struct {
	Name     string  `json:"name"`
	Finished float64 `json:"finished"`
	Body     float64 `json:"body"`
	Ease     float64 `json:"ease"`
	Promise  string  `json:"promise"`
	Kept     bool    `json:"kept"`
}

// SeamFigures is a seam as walked.
type SeamFigures struct {
	Seam string  `json:"seam"`
	A    float64 `json:"a"`
	B    float64 `json:"b"`
	Ease float64 `json:"ease"`
}

// Truing is by how much edges were bent so that they run on across a seam or a closed dart: how far the
// legs of the two sides were carried on to be equal, and by how many degrees each edge was turned.
type Truing struct {
	At      string     `json:"at"`
	Carried [2]float64 `json:"carried"` // a princess seam's centre panel first
	Turned  float64    `json:"turned_deg"`
}

// Notion is what is bought beside the cloth: so many, each of a length; 0 where no length is told.
type Notion struct {
	Name   string  `json:"name"`
	Count  int     `json:"count"`
	Each   float64 `json:"each"`
	Length string  `json:"length"` // in all, as the tape is read
}

// listFigures lists the figures of a draft that was drawn.
func listFigures(e *sewing) *Figures {
	f := &Figures{Body: e.body, Fitted: e.fittings(), Unit: e.unit}
	if en, ok := e.secs["style"]; ok {
		f.Style = e.text(en)
	}
	listed := map[*sentence]bool{}
	for _, n := range e.top.order {
		if d := e.top.defs[n]; d.kind == isNumber && !listed[d.s] { // a measure has a second name
			listed[d.s] = true
			f.Numbers = append(f.Numbers, NamedNumber{n, d.n})
		}
	}
	for _, pc := range e.pieces {
		f.Pieces = append(f.Pieces, pc.figures())
	}
	for _, g := range e.girths {
		f.Girths = append(f.Girths, Girth{g.name, g.finished, g.body, g.finished - g.body, g.promise, g.kept})
	}
	for _, p := range e.pairs {
		f.Seams = append(f.Seams, SeamFigures{p.words, p.a, p.b, p.ease})
	}
	for _, t := range e.truings {
		f.Truings = append(f.Truings, Truing{t.at, t.carried, t.turned})
	}
	for _, n := range e.notions {
		f.Notions = append(f.Notions, Notion{n.name, n.count, n.each, e.tape(float64(n.count) * n.each)})
	}
	return f
}

// figures lists a piece.
func (pc *piece) figures() PieceFigures {
	e := pc.sc.eng
	out := PieceFigures{Name: pc.name, Quantity: pc.quantity, Pair: pc.pair, Material: pc.material, Area: area(pc.edges), Marking: pc.marking()}
	for i, ed := range pc.edges {
		f := EdgeFigures{Name: ed.name, Worn: pc.worn[i].c.length(), Cut: ed.c.length(), Fold: ed.fold}
		if !pc.included && !ed.fold && pc.widths[i] != nil {
			f.Allowance = e.tape(pc.widths[i].from)
			if to := e.tape(pc.widths[i].to); to != f.Allowance {
				f.Allowance += " to " + to
			}
		}
		out.Edges = append(out.Edges, f)
	}
	return out
}

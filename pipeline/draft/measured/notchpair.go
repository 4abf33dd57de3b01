package measured

// partnerNotches sets the notches that are told of one side of a seam on the other side too, where nothing
// is told of that one: each as far from the end it is nearer to, so that ease lies between them. Which
// ends meet is told by the edges that cross there; where they do not tell, nothing is set.
func (e *sewing) partnerNotches(a, b []sewnRef) {
	if len(a) != 1 || len(b) != 1 || a[0].times != 1 || b[0].times != 1 || a[0] == b[0] {
		return
	}
	from, to := a[0], b[0]
	told := from.toldNotches()
	if other := to.toldNotches(); len(told) == 0 {
		from, to, told = to, from, other
	} else if len(other) > 0 {
		return
	}
	same, sure := from.sameWay(to)
	if !sure {
		return
	}
	long, there := from.pc.worn[from.i].c.length(), to.pc.worn[to.i].c.length()
	for _, n := range told {
		l := n.worn
		if l > long/2 {
			l = there - (long - n.worn)
		}
		if !same {
			l = there - l
		}
		if l < 0 || l > there {
			continue // so much shorter that it has no such place
		}
		n.edge, n.worn, n.at = to.i, l, to.pc.place(to.i, l)
		to.pc.notches = append(to.pc.notches, n)
	}
}

// toldNotches are those that the draft tells of an edge.
func (r sewnRef) toldNotches() []notchAt {
	var out []notchAt
	for _, n := range r.pc.notches {
		if n.edge == r.i && n.s != nil {
			out = append(out, n)
		}
	}
	return out
}

// sameWay tells whether the start of one edge meets the start of the other; sure is false where the
// edges across do not tell.
func (r sewnRef) sameWay(o sewnRef) (same, sure bool) {
	score := 0
	for k, c := range r.corners() {
		for m, d := range o.corners() {
			switch {
			case !sameKind(c.cross.name, d.cross.name):
			case k == m:
				score++
			default:
				score--
			}
		}
	}
	return score > 0, score != 0
}

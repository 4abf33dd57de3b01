package plan

// improve tries to shorten the tour at one item and gives the gain.
func (t *tour) improve(item int32) float64 {
	if g := t.twoOpt(item); g > 0 {
		return g
	}
	return t.orOpt(item)
}

// twoOpt replaces two legs by reversing the stretch between them.
func (t *tour) twoOpt(item int32) float64 {
	p := t.pos[item]
	a, s := t.outEnd(p), t.next(p)
	b := t.inEnd(s)
	leg := t.dist(a, b)
	for _, other := range t.near[a] {
		if leg-other.d <= gainTol {
			break
		}
		q := t.pos[other.item]
		c := t.outEnd(q)
		d := leg - t.dist(a, c)
		if d <= gainTol || q == p {
			continue
		}
		u := t.next(q)
		if d += t.dist(c, t.inEnd(u)) - t.dist(b, t.inEnd(u)); d > gainTol {
			t.push(p, s, q, u)
			t.reverse(s, q)
			return d
		}
	}
	a, s = t.inEnd(p), t.prev(p)
	b = t.outEnd(s)
	leg = t.dist(a, b)
	for _, other := range t.near[a] {
		if leg-other.d <= gainTol {
			break
		}
		q := t.pos[other.item]
		c := t.inEnd(q)
		d := leg - t.dist(a, c)
		if d <= gainTol || q == p {
			continue
		}
		u := t.prev(q)
		if d += t.dist(c, t.outEnd(u)) - t.dist(b, t.outEnd(u)); d > gainTol {
			t.push(p, s, q, u)
			t.reverse(p, u)
			return d
		}
	}
	return 0
}

// maxRun is the longest run of items that Or-opt moves elsewhere.
const maxRun = 3

// orOpt moves a run of one to three items that begins or ends at the item to another place, in either direction.
func (t *tour) orOpt(item int32) float64 {
	p := t.pos[item]
	for k := 0; k < maxRun && k < t.n-3; k++ {
		if g := t.moveRun(p, t.wrap(int(p)+k)); g > 0 {
			return g
		}
		if k == 0 {
			continue
		}
		if g := t.moveRun(t.wrap(int(p)-k), p); g > 0 {
			return g
		}
	}
	return 0
}

// moveRun moves the run from i to j to a place where it shortens the tour.
func (t *tour) moveRun(i, j int32) float64 {
	before, after := t.prev(i), t.next(j)
	s1, s2 := t.inEnd(i), t.outEnd(j)
	a, b := t.outEnd(before), t.inEnd(after)
	saved := t.dist(a, s1) + t.dist(s2, b) - t.dist(a, b)
	if saved <= gainTol {
		return 0
	}
	size := t.count(i, j)
	for side := range 2 {
		near, far := s1, s2
		if side == 1 {
			near, far = s2, s1
		}
		for _, other := range t.near[near] {
			if saved-other.d <= gainTol {
				break
			}
			q := t.pos[other.item]
			if t.count(i, q) <= size {
				continue // within the run
			}
			// Behind q, and before q: the end of the run that is near q goes next to q.
			if q != before {
				c := t.outEnd(q)
				if d := saved - t.dist(near, c); d > gainTol {
					u := t.inEnd(t.next(q))
					if d += t.dist(c, u) - t.dist(far, u); d > gainTol {
						t.relocate(i, j, q, side == 1)
						return d
					}
				}
			}
			if q != after {
				c := t.inEnd(q)
				if d := saved - t.dist(near, c); d > gainTol {
					u := t.outEnd(t.prev(q))
					if d += t.dist(c, u) - t.dist(far, u); d > gainTol {
						t.relocate(i, j, t.prev(q), side == 0)
						return d
					}
				}
			}
		}
	}
	return 0
}

// relocate moves the run from i to j behind position q, reversed or not. It reverses the shorter way between the two
// places.
func (t *tour) relocate(i, j, q int32, turned bool) {
	t.push(t.prev(i), i, j, t.next(j), q, t.next(q))
	size := t.count(i, j)
	ahead, behind := t.count(j, q)-1, t.count(q, i)-2
	if ahead <= behind {
		t.reverse(i, q)
		t.reverse(i, t.wrap(int(i)+ahead-1))
		if !turned {
			t.reverse(t.wrap(int(i)+ahead), q)
		}
		return
	}
	from := t.next(q)
	t.reverse(from, j)
	t.reverse(t.wrap(int(from)+size), j)
	if !turned {
		t.reverse(from, t.wrap(int(from)+size-1))
	}
}

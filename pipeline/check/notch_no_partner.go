package check

import (
	"fmt"
	"math"
	"sort"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/pattern"
)

// meets is how far apart, in mm, two notches of a seam may come when it is walked; the seam's ease
// comes on top.
const meets = 2.0

// notchNoPartner walks each seam and finds notches on one side that meet none on the other.
func notchNoPartner(d *draft) []pattern.Finding {
	joints, _ := d.joints()
	var out []pattern.Finding
	for _, j := range joints {
		if len(j.a.edges) != len(j.seam.A) || len(j.b.edges) != len(j.seam.B) {
			continue
		}
		a, b := j.a.notches(), j.b.notches()
		if len(a) == 0 && len(b) == 0 {
			continue
		}
		room := meets + math.Abs(j.seam.Ease) + math.Abs(j.b.length-j.a.length)
		aloneA, aloneB := unmatched(a, b, room)
		turned := reversed(b, j.b.length)
		if ta, tb := unmatched(a, turned, room); len(ta)+len(tb) < len(aloneA)+len(aloneB) {
			aloneA, aloneB = ta, tb
		}
		na, nb := seamWords(j)
		out = append(out, d.alone(j.a, aloneA, na, nb)...)
		out = append(out, d.alone(j.b, aloneB, nb, na)...)
	}
	return out
}

// mark is a notch on a side of a seam, at a length along it.
type mark struct {
	s  float64
	at orb.Point
}

// notches are those of the piece that lie over the side, as its line runs.
func (w side) notches() []mark {
	from, _ := edgeSpan(w.s.p, w.line, w.first())
	var out []mark
	for _, n := range w.s.notches() {
		near := w.line.Nearest(n.At)
		if near.Dist > n.allowance+onLine && !n.OnSew {
			continue
		}
		s := near.S - from
		if s < -onLine {
			s += w.ruler.Length()
		}
		if s >= -onLine && s <= w.length+onLine {
			out = append(out, mark{s: s, at: n.At})
		}
	}
	sort.Slice(out, func(i, j int) bool { return out[i].s < out[j].s })
	return out
}

func reversed(marks []mark, length float64) []mark {
	out := make([]mark, len(marks))
	for i, m := range marks {
		out[len(marks)-1-i] = mark{s: length - m.s, at: m.at}
	}
	return out
}

// unmatched pairs two sorted lists greedily and gives what is left of each.
func unmatched(a, b []mark, room float64) (aloneA, aloneB []mark) {
	i, k := 0, 0
	for i < len(a) && k < len(b) {
		switch {
		case math.Abs(a[i].s-b[k].s) <= room:
			i, k = i+1, k+1
		case a[i].s < b[k].s:
			aloneA, i = append(aloneA, a[i]), i+1
		default:
			aloneB, k = append(aloneB, b[k]), k+1
		}
	}
	return append(aloneA, a[i:]...), append(aloneB, b[k:]...)
}

func (d *draft) alone(w side, marks []mark, here, there string) []pattern.Finding {
	var out []pattern.Finding
	for _, m := range marks {
		out = append(out, w.s.at(pattern.RuleNotchNoPartner, m.at,
			fmt.Sprintf("the notch at %s on %s meets none on %s", d.say.place(m.at), here, there),
			"set the notch on both pieces at the same way from the seam's end, or on neither"))
	}
	return out
}

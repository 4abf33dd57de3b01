// Package tape knows how a body measure is taken: where the tape goes, in words and as a small drawing, and in which order
// one measures.
package tape

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// row is a measure as a form shows it.
type row struct{ name, how, way string }

// rows are in the order in which one measures, from the head down (common practice); how says where the tape goes,
// after the landmarks of ISO 8559-1 in the words of the trade; way is the same as a drawing: on which figure, round or
// along, by which of its places.
var rows = []row{
	{"height", "standing straight without shoes, from the crown to the floor", "side: along over crown, floor"},
	{"head", "round the head over the brow", "front: round brow left, brow right"},
	{"hood height", "from the base of the neck at the side, over the crown, to the same place at the other side", "front: along neck left, beside head left, over crown, beside head right, neck right"},
	{"neck", "round the base of the neck, through the hollow in front", "front: round neck left, neck right"},
	{"shoulder", "from the neck point along the shoulder to its tip", "front: along neck right, tip right"},
	{"bust", "round the fullest part, the tape level", "front: round bust left, bust right"},
	{"high bust", "round under the arms, above the bust", "front: round underarm left, underarm right"},
	{"waist", "round the natural waist", "front: round waist left, waist right"},
	{"hip", "round the fullest part of the hips, the tape level", "front: round hip left, hip right"},
	{"hip depth", "at the side, from the waist down to the level of the hip", "side: along waist, hip"},
	{"across front", "from arm to arm in front, at the arm's crease", "front: along crease left, crease right"},
	{"across back", "from arm to arm behind, at the arm's crease", "back: along crease left, crease right"},
	{"armhole depth", "from the nape straight down to the level of the underarm; a strip of paper held under the arms shows it", "back: along nape, underarm"},
	{"nape to waist", "from the bone at the nape down to the waist", "back: along nape, waist"},
	{"front waist", "from the neck point over the bust down to the waist", "front: along neck right, bust point right, under bust right, waist before"},
	{"apex depth", "from the neck point to the bust point", "front: along neck right, bust point right"},
	{"apex separation", "from bust point to bust point", "front: along bust point left, bust point right"},
	{"front armhole", "on the finished pattern, along the front armhole from the shoulder to the underarm", "front piece: along tip, upper armhole, lower armhole, underarm"},
	{"back armhole", "on the finished pattern, along the back armhole from the shoulder to the underarm", "back piece: along tip, upper armhole, lower armhole, underarm"},
	{"upper arm", "round the fullest part of the upper arm, the arm hanging", "front: round arm inside, arm outside"},
	{"arm length", "from the shoulder tip over the bent elbow to the wrist", "arm: along tip, elbow, wrist"},
	{"wrist", "round the wrist", "front: round wrist inside, wrist outside"},
	{"hand", "round the hand at its widest, the thumb laid in", "front: round hand inside, hand outside"},
	{"rise", "sitting on a flat seat, at the side, from the waist down to the seat", "sitting: along waist, seat"},
	{"body rise", "sitting, from the waist down to the seat", "sitting: along waist, seat"},
	{"inside leg", "from the crotch down to the floor", "front: along crotch, floor"},
	{"outside leg", "from the waist down to the floor", "front: along waist right, hip right, thigh outside, knee outside, calf outside, floor outside"},
	{"knee", "round the knee", "front: round knee inside, knee outside"},
	{"heel", "round the heel and the instep, the foot stretched", "side: round heel, instep"},
	{"bag height", "of the finished bag, from its bottom to its mouth", "bag: along mouth, bottom"},
	{"bag width", "of the finished bag, along the longer side of its bottom", "bag: along bottom, corner"},
	{"bag depth", "of the finished bag, along the shorter side of its bottom", "bag: along corner, far corner"},
	{"longest tool", "from end to end", "tool: along top, end"},
}

// counted are measures of several things of a kind, with a number behind: tool 1, tool 2.
var counted = []row{{"tool", "across it, at its widest", "tool: along edge left, edge right"}}

// rowOf is what is known of a measure, nothing where it is not known here.
func rowOf(name string) row {
	if i := slices.IndexFunc(rows, func(t row) bool { return t.name == name }); i >= 0 {
		return rows[i]
	}
	name = strings.TrimRight(name, " 0123456789")
	if i := slices.IndexFunc(counted, func(t row) bool { return t.name == name }); i >= 0 {
		return counted[i]
	}
	return row{}
}

// How says where the tape goes for a measure, "" where it is not known here.
func How(name string) string { return rowOf(name).how }

// Names are those of the measures that are known, but for those of several things of a kind, in the order in which one
// measures.
func Names() []string {
	out := make([]string, len(rows))
	for i, r := range rows {
		out[i] = r.name
	}
	return out
}

// Counted are the names of the first twenty of each of several things of a kind.
func Counted() (out []string) {
	for _, r := range counted {
		for n := range 20 {
			out = append(out, fmt.Sprint(r.name, " ", n+1))
		}
	}
	return out
}

// Compare orders measures as one takes them; unknown ones come last, by name.
func Compare(a, b string) int {
	at := func(name string) int {
		if i := slices.IndexFunc(rows, func(t row) bool { return t.name == name }); i >= 0 {
			return i
		}
		return len(rows)
	}
	return cmp.Or(cmp.Compare(at(a), at(b)), cmp.Compare(a, b))
}

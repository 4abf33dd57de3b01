package desk

import (
	"cmp"
	"slices"
	"strings"
)

// tape is the order in which one measures, from the head down (common practice); how says where the tape goes,
// after the landmarks of ISO 8559-1 in the words of the trade.
var tape = []struct{ name, how string }{
	{"height", "standing straight without shoes, from the crown to the floor"},
	{"head", "round the head over the brow"},
	{"hood height", "from the base of the neck at the side, over the crown, to the same place at the other side"},
	{"neck", "round the base of the neck, through the hollow in front"},
	{"shoulder", "from the neck point along the shoulder to its tip"},
	{"bust", "round the fullest part, the tape level"},
	{"high bust", "round under the arms, above the bust"},
	{"waist", "round the natural waist"},
	{"hip", "round the fullest part of the hips, the tape level"},
	{"hip depth", "at the side, from the waist down to the level of the hip"},
	{"across front", "from arm to arm in front, at the arm's crease"},
	{"across back", "from arm to arm behind, at the arm's crease"},
	{"armhole depth", "from the nape straight down to the level of the underarm; a strip of paper held under the arms shows it"},
	{"nape to waist", "from the bone at the nape down to the waist"},
	{"front waist", "from the neck point over the bust down to the waist"},
	{"apex depth", "from the neck point to the bust point"},
	{"apex separation", "from bust point to bust point"},
	{"front armhole", "on the finished pattern, along the front armhole from the shoulder to the underarm"},
	{"back armhole", "on the finished pattern, along the back armhole from the shoulder to the underarm"},
	{"upper arm", "round the fullest part of the upper arm, the arm hanging"},
	{"arm length", "from the shoulder tip over the bent elbow to the wrist"},
	{"wrist", "round the wrist"},
	{"hand", "round the hand at its widest, the thumb laid in"},
	{"rise", "sitting on a flat seat, at the side, from the waist down to the seat"},
	{"body rise", "sitting, from the waist down to the seat"},
	{"inside leg", "from the crotch down to the floor"},
	{"outside leg", "from the waist down to the floor"},
	{"knee", "round the knee"},
	{"heel", "round the heel and the instep, the foot stretched"},
	{"bag height", "of the finished bag, from its bottom to its mouth"},
	{"bag width", "of the finished bag, along the longer side of its bottom"},
	{"bag depth", "of the finished bag, along the shorter side of its bottom"},
	{"longest tool", "from end to end"},
}

// counted are measures of several things of a kind, with a number behind: tool 1, tool 2.
var counted = map[string]string{"tool": "across it, at its widest"}

// howOf says where the tape goes for a measure, "" where it is not known here.
func howOf(name string) string {
	if i := slices.IndexFunc(tape, func(t struct{ name, how string }) bool { return t.name == name }); i >= 0 {
		return tape[i].how
	}
	return counted[strings.TrimRight(name, " 0123456789")]
}

// byTape orders measures as one takes them; unknown ones come last, by name.
func byTape(a, b string) int {
	at := func(name string) int {
		if i := slices.IndexFunc(tape, func(t struct{ name, how string }) bool { return t.name == name }); i >= 0 {
			return i
		}
		return len(tape)
	}
	return cmp.Or(cmp.Compare(at(a), at(b)), cmp.Compare(a, b))
}

package desk

import (
	"cmp"
	"slices"

	yaml "go.yaml.in/yaml/v4"
)

// tape is the order in which one measures, from the head down (common practice); how says where the tape goes,
// after the landmarks of ISO 8559-1 in the words of the trade.
var tape = []struct{ name, how string }{
	{"head", "round the head over the brow"},
	{"neck", "round the base of the neck, through the hollow in front"},
	{"shoulder", "from the neck point along the shoulder to its tip"},
	{"bust", "round the fullest part, the tape level"},
	{"high bust", "round under the arms, above the bust"},
	{"waist", "round the natural waist"},
	{"hip", "round the fullest part of the hips, the tape level"},
	{"across front", "from arm to arm in front, at the arm's crease"},
	{"across back", "from arm to arm behind, at the arm's crease"},
	{"nape to waist", "from the bone at the nape down to the waist"},
	{"front waist", "from the neck point over the bust down to the waist"},
	{"apex depth", "from the neck point to the bust point"},
	{"apex separation", "from bust point to bust point"},
	{"arm length", "from the shoulder tip over the bent elbow to the wrist"},
	{"wrist", "round the wrist"},
	{"hand", "round the hand at its widest, the thumb laid in"},
	{"body rise", "sitting, from the waist down to the seat"},
	{"inside leg", "from the crotch down to the floor"},
	{"outside leg", "from the waist down to the floor"},
}

var how = func() map[string]string {
	m := map[string]string{}
	for _, t := range tape {
		m[t.name] = t.how
	}
	return m
}()

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

// cardOf reads the measures of a card as they are written.
func cardOf(text []byte) map[string]string {
	var c struct {
		Measures map[string]string `yaml:"measures"`
	}
	if yaml.Unmarshal(text, &c) != nil {
		return nil
	}
	return c.Measures
}

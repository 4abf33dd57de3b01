package sentence

import "strings"

// onlyFor stands before the garment to which alone a fitting belongs.
const onlyFor = "only for "

// FittingDay reads under which day a card has a fitting, "2026-11-20, toile, only for overskirt": the day, and the garment
// to which alone it belongs, "" for every garment of the wearer.
func FittingDay(key string) (day, garment string) {
	for i, part := range strings.Split(key, ",") {
		part = strings.Join(strings.Fields(part), " ")
		if i == 0 {
			day = part
		} else if name, is := strings.CutPrefix(part, onlyFor); is {
			garment = name
		}
	}
	return day, garment
}

// OnlyFor is the key of a fitting that belongs to one garment.
func OnlyFor(key, garment string) string {
	if garment == "" {
		return key
	}
	return key + ", " + onlyFor + garment
}

// CountsFor tells whether a fitting of a garment, "" for every one, goes into a draft that has these names: its file's and its
// style.
func CountsFor(garment string, names ...string) bool {
	if garment == "" {
		return true
	}
	for _, n := range names {
		if strings.EqualFold(strings.Join(strings.Fields(n), " "), garment) {
			return true
		}
	}
	return false
}

// SideOf is of which side of the wearer a name speaks, "left shoulder slope", and what is left without that word; side is "" of a
// name that speaks of neither.
func SideOf(name string) (side, rest string) {
	for _, side := range []string{"left", "right"} {
		if rest, is := strings.CutPrefix(name, side+" "); is {
			return side, rest
		}
	}
	return "", name
}

// SideMeant is SideOf of a name as a person may say it, "the Right side" or "front side right"; what is left has neither the word nor
// "the" before it.
func SideMeant(name string) (side, rest string) {
	words := strings.Fields(name)
	if len(words) > 1 && strings.EqualFold(words[0], "the") {
		words = words[1:]
	}
	for i, w := range words {
		if w = strings.ToLower(w); (w == "left" || w == "right") && len(words) > 1 {
			return w, strings.Join(append(words[:i:i], words[i+1:]...), " ")
		}
	}
	return "", strings.Join(words, " ")
}

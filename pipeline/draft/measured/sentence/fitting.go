package sentence

import (
	"slices"
	"strings"
)

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

// SideMeant is SideOf of a name as a person may say it, "the Right side", "front side right" or "left-hand side"; what is left has
// none of these words. sure is false where the word for the side is misspelt. Of "left and right side", side is "".
func SideMeant(name string) (side, rest string, sure bool) {
	words := strings.Fields(name)
	strip := func(is func(word, side string) bool) (side string, left []string) {
		both := false
		for _, w := range words {
			said := strings.TrimSuffix(strings.ToLower(w), "-hand")
			i := slices.IndexFunc([]string{"left", "right"}, func(side string) bool { return is(said, side) })
			switch {
			case i >= 0:
				both = both || side != "" && side != []string{"left", "right"}[i]
				side = []string{"left", "right"}[i]
			case !slices.Contains([]string{"the", "and", "both", "hand", "wearer's", "wearer’s"}, said):
				left = append(left, w)
			}
		}
		if both {
			side = ""
		}
		return side, left
	}
	side, left := strip(func(word, side string) bool { return word == side })
	sure = true
	if side == "" && len(left) > 1 && len(left) == len(words) {
		if meant, without := strip(OneSlip); meant != "" {
			side, left, sure = meant, without, false
		}
	}
	if len(left) == 0 {
		return "", name, true
	}
	return side, strings.Join(left, " "), sure
}

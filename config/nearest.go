package config

import (
	"fmt"
	"strings"
)

// Nearest is the known word that a wrong one was most likely meant to be, "" where none is close:
// at most a third of its letters may differ, and never all.
func Nearest(word string, known []string) string {
	best, bestDist := "", 1+len([]rune(word))/3
	for _, k := range known {
		if d := distance(strings.ToLower(word), strings.ToLower(k)); d >= len([]rune(word)) {
			continue // nothing of it is left: one letter is not like another
		} else if d < bestDist || d == bestDist && best == "" {
			best, bestDist = k, d
		}
	}
	return best
}

// meant ends a refusal that has named all of them, with the nearest word where one is close.
func meant(word string, known []string) string {
	if near := Nearest(word, known); near != "" {
		return fmt.Sprintf("; did you mean %q?", near)
	}
	return ""
}

// OneSlip tells whether two words are one letter apart: put in, left out, changed, or swapped with its neighbour.
func OneSlip(a, b string) bool { return distance(strings.ToLower(a), strings.ToLower(b)) == 1 }

// hint ends a refusal: the nearest word, or all of them.
func hint(word string, known []string) string {
	if n := Nearest(word, known); n != "" {
		return "; did you mean " + n + "?"
	}
	return "; it may be one of " + strings.Join(known, ", ")
}

// distance is the number of letters to insert, drop, change or swap with a neighbour.
func distance(a, b string) int {
	s, t := []rune(a), []rune(b)
	prev2, prev, cur := []int{}, make([]int, len(t)+1), make([]int, len(t)+1)
	for j := range prev {
		prev[j] = j
	}
	for i := 1; i <= len(s); i++ {
		cur[0] = i
		for j := 1; j <= len(t); j++ {
			cost := 1
			if s[i-1] == t[j-1] {
				cost = 0
			}
			cur[j] = min(prev[j]+1, cur[j-1]+1, prev[j-1]+cost)
			if i > 1 && j > 1 && s[i-1] == t[j-2] && s[i-2] == t[j-1] {
				cur[j] = min(cur[j], prev2[j-2]+1)
			}
		}
		prev2, prev, cur = append([]int(nil), prev...), cur, prev
	}
	return prev[len(t)]
}

// Package differing takes a text and what it became and says which lines went and came, and which figures of a line changed.
// It knows no draft and no page.
package differing

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
)

// Line is a line that is in one of two texts only, with its place there, from 1.
type Line struct {
	New  bool // it came; else it is gone
	No   int
	Text string
}

// Words say which it is, for those who see no colour.
func (l Line) Words() string {
	if l.New {
		return "new"
	}
	return "gone"
}

// most bounds how many steps are tried for the fewest lines that differ; beyond it all lines between what begins and what ends
// alike are told.
const most = 500

// Lines are the fewest lines that are gone from was and came into now, in their order, what is gone before what came.
func Lines(was, now string) (out []Line) {
	a, b := split(was), split(now)
	from := 0
	for from < len(a) && from < len(b) && a[from] == b[from] {
		from++
	}
	ea, eb := len(a), len(b)
	for ea > from && eb > from && a[ea-1] == b[eb-1] {
		ea, eb = ea-1, eb-1
	}
	kept := common(a[from:ea], b[from:eb])
	i, j := from, from
	for _, k := range append(kept, [2]int{ea - from, eb - from}) {
		for ; i < from+k[0]; i++ {
			out = append(out, Line{No: i + 1, Text: a[i]})
		}
		for ; j < from+k[1]; j++ {
			out = append(out, Line{New: true, No: j + 1, Text: b[j]})
		}
		i, j = i+1, j+1
	}
	return out
}

func split(text string) []string {
	lines := strings.Split(strings.TrimSuffix(strings.ReplaceAll(text, "\r\n", "\n"), "\n"), "\n")
	for i := range lines {
		lines[i] = strings.TrimRight(lines[i], " \t")
	}
	return lines
}

// common are the places of a longest run of lines that both have in one order, by the greedy algorithm of E. W. Myers, "An
// O(ND) Difference Algorithm and Its Variations" (Algorithmica 1, 1986); none beyond most steps.
func common(a, b []string) (out [][2]int) {
	reach := map[int]int{1: 0}
	var steps []map[int]int
	for d := 0; d <= len(a)+len(b) && d <= most; d++ {
		then := make(map[int]int, len(reach))
		for k := max(-d, -len(b)-1); k <= min(d, len(a)+1); k++ {
			if x, is := reach[k]; is {
				then[k] = x
			}
		}
		steps = append(steps, then)
		for k := -d; k <= d; k += 2 {
			x := reach[k-1] + 1
			if k == -d || k != d && reach[k-1] < reach[k+1] {
				x = reach[k+1]
			}
			for x < len(a) && x-k < len(b) && x-k >= 0 && a[x] == b[x-k] {
				x++
			}
			reach[k] = x
			if x >= len(a) && x-k >= len(b) {
				return back(steps, len(a), len(b))
			}
		}
	}
	return nil
}

// back goes the way of common from its end to its beginning.
func back(steps []map[int]int, x, y int) (out [][2]int) {
	for d := len(steps) - 1; d >= 0; d-- {
		then, k := steps[d], x-y
		before := k - 1
		if k == -d || k != d && then[k-1] < then[k+1] {
			before = k + 1
		}
		px := then[before]
		py := px - before
		for x > px && y > py && x > 0 && y > 0 {
			x, y = x-1, y-1
			out = append(out, [2]int{x, y})
		}
		x, y = px, py
	}
	slices.Reverse(out)
	return out
}

// figure finds a name with its figure, as measures stand in a draft or on a card: bust: 97, hip depth: 7 1/8 in.
var figure = regexp.MustCompile(`([\p{L}][\p{L}\p{Nd} _-]*?)\s*:\s*(\d[\d./ ]*(?:mm|cm|in)?)`)

// Figures are what lines that differ say otherwise of one name: "bust 97, was 95". A name that several lines bear with several
// figures says nothing.
func Figures(lines []Line) (out []string) {
	said := [2]map[string][]string{{}, {}}
	var order []string
	for _, l := range lines {
		side := 0
		if l.New {
			side = 1
		}
		for _, m := range figure.FindAllStringSubmatch(l.Text, -1) {
			name, v := m[1], strings.TrimSpace(m[2])
			if said[0][name] == nil && said[1][name] == nil {
				order = append(order, name)
			}
			said[side][name] = append(said[side][name], v)
		}
	}
	for _, name := range order {
		was, now := said[0][name], said[1][name]
		if len(was) == 1 && len(now) == 1 && was[0] != now[0] {
			out = append(out, fmt.Sprintf("%s %s, was %s", name, now[0], was[0]))
		}
	}
	return out
}

// Change is what differs between two texts, as a page tells it.
type Change struct {
	Lines     []Line
	More      int // lines that differ and are not in Lines
	Gone, New int
	Figures   []string
}

// shown is how many lines a page tells.
const shown = 60

// Of is what differs between a text and what it became.
func Of(was, now string) (c Change) {
	c.Lines = Lines(was, now)
	c.Figures = Figures(c.Lines)
	for _, l := range c.Lines {
		if l.New {
			c.New++
		} else {
			c.Gone++
		}
	}
	c.More = max(0, len(c.Lines)-shown)
	c.Lines = c.Lines[:len(c.Lines)-c.More]
	return c
}

// Words count the lines: "lines gone: 2, new: 1".
func (c Change) Words() string {
	if c.Gone == 0 && c.New == 0 {
		return "no line"
	}
	return fmt.Sprintf("lines gone: %d, new: %d", c.Gone, c.New)
}

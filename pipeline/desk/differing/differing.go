// Package differing takes two versions of a text and gives the lines that were removed and added, and the measures
// whose figures changed. It knows no draft and no page.
package differing

import (
	"fmt"
	"regexp"
	"strings"

	"github.com/aymanbagabas/go-udiff/lcs"
)

// Line is a line in only one of two texts, with its number there, from 1.
type Line struct {
	New  bool // added; else removed
	No   int
	Text string
}

// Words say which it is, for those who do not see the colour.
func (l Line) Words() string {
	if l.New {
		return "new"
	}
	return "gone"
}

// Lines are the lines removed from was and added in now, in their order, removed ones first: the fewest possible, or
// nearly where over a hundred differ.
func Lines(was, now string) (out []Line) {
	a, b := split(was), split(now)
	for _, d := range lcs.DiffLines(a, b) {
		for i := d.Start; i < d.End; i++ {
			out = append(out, Line{No: i + 1, Text: a[i]})
		}
		for j := d.ReplStart; j < d.ReplEnd; j++ {
			out = append(out, Line{New: true, No: j + 1, Text: b[j]})
		}
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

// figure finds a name with its figure, as measures are in a draft or on a card: bust: 97, hip depth: 7 1/8 in.
var figure = regexp.MustCompile(`([\p{L}][\p{L}\p{Nd} _-]*?)\s*:\s*(\d(?:[\d./ ]|,\d)*(?:mm|cm|in)?)`)

// Figures are the changed figures of a name in lines that differ: "bust 97, was 95". A name with several figures is
// left out.
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

// Change is the difference between two texts for a page.
type Change struct {
	Lines     []Line
	More      int // number of differing lines left out of Lines
	Gone, New int
	Figures   []string
}

// shown bounds the lines shown on a page.
const shown = 60

// Of is the difference between two versions of a text.
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

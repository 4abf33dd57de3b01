package board

import (
	"regexp"
	"strings"

	"tracewheel/pipeline/pattern"
)

// buttons are what the commands of a terminal are called on a page.
var buttons = map[string]string{"release": "Release", "resume": "Go on", "cancel": "Cancel", "whole": "The sheet is whole", "spoilt": "The sheet is spoilt",
	"again": "Make it again", "hold": "Hold", "next": "Next, before the others"}

var (
	command   = regexp.MustCompile("`?tracewheel (release|resume|cancel|whole|spoilt|again|hold|next|show) ([0-9]+)`?(?: --[a-z]+ [^ ,;.]+)*")
	onRoll    = regexp.MustCompile("`?tracewheel release [0-9]+ --remnant roll`?")
	onRemnant = regexp.MustCompile("`?tracewheel release [0-9]+ --remnant ([0-9]+)`?")
	either    = regexp.MustCompile("tracewheel resume or cancel")
)

// onPage says what mends something by the buttons of the job's page, where it is said by commands of a terminal.
func onPage(text string) string {
	if !strings.Contains(text, "tracewheel ") {
		return text
	}
	text = onRoll.ReplaceAllString(text, `press "Lay it on the roll"`)
	text = onRemnant.ReplaceAllString(text, `press "Lay it on remnant $1"`)
	text = either.ReplaceAllString(text, `press "Go on" or "Cancel"`)
	return command.ReplaceAllStringFunc(text, func(said string) string {
		m := command.FindStringSubmatch(said)
		if m[1] == "show" {
			return "look at the page of job " + m[2]
		}
		words := `press "` + buttons[m[1]] + `"`
		if m[1] == "cancel" {
			words = `press "Cancel ` + m[2] + `"`
		}
		return words
	})
}

// elsewhere are the buttons by which a cutter moves, and what a page says that is not paired and has none of them.
var elsewhere = strings.NewReplacer(`press "Go on" or "Cancel"`, `continue it at the machine, or press "Cancel"`,
	`press "Go on"`, "continue it at the machine", `press "Release"`, "release it at the machine")

// alike is a finding that says the same as another one of the list, of another piece.
type alike struct {
	Number int
	Piece  string
	Place  string // as numbered.Place
}

// gathered tells findings that say the same of several pieces once, in the order of the first.
func gathered(all []numbered) []numbered {
	plain := make([]pattern.Finding, len(all))
	for i := range all {
		plain[i] = all[i].Finding
	}
	var out []numbered
	for _, g := range pattern.Group(plain) {
		one := all[g.Of[0]]
		one.Message, one.Mend = g.Message, g.Mend
		told := map[alike]bool{{Piece: one.Piece}: true}
		for _, k := range g.Of[1:] {
			if a := (alike{all[k].Number, all[k].Piece, all[k].Place}); !told[a] {
				one.Also, told[a] = append(one.Also, a), true
			}
		}
		out = append(out, one)
	}
	return out
}

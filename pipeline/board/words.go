package board

import (
	"regexp"
	"strings"

	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/pattern"
)

// buttons are the labels on pages for the commands of a terminal.
var buttons = map[string]string{"release": "Release", "resume": "Go on", "cancel": "Cancel", "whole": "The sheet is whole", "spoilt": "The sheet is spoilt",
	"again": "Make it again", "hold": "Hold", "next": "Next, before the others"}

var (
	command = regexp.MustCompile("`?tracewheel (release|resume|cancel|whole|spoilt|again|hold|next|show) ([0-9]+)`?(?: --[a-z]+ [^ ,;.]+)*")
	inForms = formWords()
)

// formWord is a command or flag in a message, and what a page has instead.
type formWord struct {
	said  *regexp.Regexp
	words string
}

// formWords are replaced in this order.
func formWords() (all []formWord) {
	add := func(said, words string) { all = append(all, formWord{regexp.MustCompile(said), words}) }
	const cloth = `--cloth (?:"[^"]+"|[^ ,;]+)`
	add("tracewheel again (?:JOB|[0-9]+) "+cloth+"(?: or "+cloth+")*", `press "Make the pieces of" and the cloth's name`)
	add("`?tracewheel release [0-9]+ --remnant roll`?", `press "Lay it on the roll"`)
	add("`?tracewheel release [0-9]+ --remnant ([0-9]+)`?", `press "Lay it on remnant $1"`)
	add("tracewheel resume or cancel", `press "Go on" or "Cancel"`)
	add("`?tracewheel square plot ([^ `;,:]+)`?", "send for a test square on the page of $1")
	add("tell: `?tracewheel square record ([^ `;,:]+)`?(?: --plot [0-9]+)?", "record it on the page of $1")
	add("`?tracewheel square record ([^ `;,:]+)`?(?: --plot [0-9]+)?", "record it on the page of $1")
	for _, a := range answers.All {
		if a.Yes {
			add(`release (?:it|the job) with --`+a.Name, `tick "`+a.Label+`" and press "Answer"`)
		}
	}
	add("the answer --[a-z]+ ", "the answer ")
	add("release (?:it|the job) with --[a-z]+ (?:and )?", "answer with ")
	add(`\bor (?:with )?--[a-z]+ `, "or ")
	return all
}

// onPage replaces commands in a message by the buttons and fields of the job's page.
func onPage(text string) string {
	if !strings.Contains(text, "tracewheel ") && !strings.Contains(text, " --") {
		return text
	}
	for _, f := range inForms {
		text = f.said.ReplaceAllString(text, f.words)
	}
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

// elsewhere replaces the buttons by which a cutter moves, for a page that is not paired and does not have them.
var elsewhere = strings.NewReplacer(`press "Go on" or "Cancel"`, `continue it at the machine, or press "Cancel"`,
	`press "Go on"`, "continue it at the machine", `press "Release"`, "release it at the machine")

// alike is another finding with the same words, of another piece.
type alike struct {
	Number int
	Piece  string
	Place  string // as numbered.Place
}

// gathered merges findings with the same words of several pieces, in the order of the first.
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

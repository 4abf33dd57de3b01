package ledger

import (
	"fmt"
	"strings"
)

// AnswerToolUp is the answer of a job that runs another one with the tool up, and says how: whole or once round its bounds.
const AnswerToolUp = "tool-up"

// AnswerBed is the answer of a job that cuts one of several beds of another, and says which, such as "2 of 3".
const AnswerBed = "bed"

// noTrial is SQL that leaves such jobs out. It looks at the text, because a damaged row has no JSON to read.
const noTrial = ` AND instr(j.answers, '"` + AnswerToolUp + `":') = 0`

// Trial is how a job runs another one with the tool up, "" for a job that draws or cuts. A trial takes no material, and no
// piece comes of it.
func (j Job) Trial() string { return j.Answers[AnswerToolUp] }

// trials are what a person calls them.
var trials = map[string]string{"dry": "dry run"}

// TrialSaid tells what a trial is, for people, "" for a job that is none.
func (j Job) TrialSaid() string {
	how := j.Trial()
	if how == "" {
		return ""
	}
	if word, is := trials[how]; is {
		how = word
	}
	return fmt.Sprintf("%s of job %d, with the tool up", how, j.AgainOf)
}

// TriedSaid tells of the trial that another job had by it: how, and how it ended.
func (j Job) TriedSaid() string {
	how, _, _ := strings.Cut(j.TrialSaid(), " of job ")
	return how + " with the tool up: " + j.State.Plain()
}

package control

import (
	"fmt"
	"strconv"
	"strings"

	"tracewheel/pipeline/ledger"
)

// The answers with which a person releases a draft that leaves something in doubt.
const (
	AnswerAllowance = "allowance"
	AnswerUnit      = "unit"
	AnswerBody      = "body"
	// AnswerSizes and AnswerCopies overrule the ticket's.
	AnswerSizes  = "sizes"
	AnswerCopies = "copies"
	// AnswerAsMeasured says that an unlikely measure is right, AnswerAsMany that so many copies are wanted.
	AnswerAsMeasured = "as-measured"
	AnswerAsMany     = "as-many"
	// AnswerAsSimulated releases a cut although the simulated blade leaves the line by more than the tolerance.
	AnswerAsSimulated = "as-simulated"
	// AnswerPieces are the numbers of the pieces to be made, the others left out, as places.Chosen gives them. Only
	// AgainPieces sets it.
	AnswerPieces = "pieces"
	// AnswerToolUp marks a job that moves without drawing or cutting, as ToolUpDry or ToolUpBounds says. A draft
	// cannot ask for it; a person does, by ToolUp.
	AnswerToolUp = ledger.AnswerToolUp
)

// Answer is one that a held job may ask for. Its name is that of the flag of the command release.
type Answer struct {
	Name string
	// Help is what the flag says, Label what a form asks.
	Help, Label string
	// Choices are the values that it may have, none where any text may; Yes is true for an answer without a value.
	Choices []string
	Yes     bool
}

// Answers are all that a job may ask for, in the order in which they are asked.
var Answers = []Answer{
	{Name: AnswerAllowance, Help: "included, or a width such as 10mm, for an outline that does not say", Label: "Seam allowance: included, or a width such as 10mm"},
	{Name: AnswerUnit, Help: "mm, cm or in, for a draft that does not say", Label: "Unit of the draft", Choices: []string{"mm", "cm", "in"}},
	{Name: AnswerBody, Help: "one of a measured draft's bodies, or a measure card, where the draft does not say", Label: "Body, or a measure card"},
	{Name: AnswerSizes, Help: "the sizes to make, parted by commas, in place of the ticket's", Label: "Sizes, parted by commas"},
	{Name: AnswerCopies, Help: "how many copies to make, in place of the ticket's", Label: "Copies"},
	{Name: AnswerAsMeasured, Help: "a measure that looks unlikely was taken again and is right", Label: "The measure was taken again and is right", Yes: true},
	{Name: AnswerAsMany, Help: "the ticket's large number of copies is right", Label: "So many copies are wanted", Yes: true},
	{Name: AnswerAsSimulated, Help: "cut although the simulated blade leaves the line; look at the job's as-cut picture first", Label: "Cut it although the simulated blade leaves the line", Yes: true},
}

// AskedBy gives the answers that the question of a held job names, or all where it names none.
func AskedBy(question string) (asked []Answer) {
	for _, a := range Answers {
		if strings.Contains(question, "--"+a.Name) {
			asked = append(asked, a)
		}
	}
	if asked == nil {
		return Answers
	}
	return asked
}

// Reordered are the answers by which a person changes how much of a draft is made; they may be given unasked.
func Reordered() (some []Answer) {
	for _, a := range Answers {
		if a.Name == AnswerSizes || a.Name == AnswerCopies {
			some = append(some, a)
		}
	}
	return some
}

// mostCopies is the greatest number of copies that an answer may want.
const mostCopies = 10_000

// countable refuses copies that are no number: the job stays as it is.
func countable(id int64, answers map[string]string) error {
	said, is := answers[AnswerCopies]
	if n, err := strconv.Atoi(strings.TrimSpace(said)); is && (err != nil || n < 1 || n > mostCopies) {
		return refuse(fmt.Sprintf("tracewheel release %d --copies 2", id), fmt.Sprintf("%q is no number of copies; write how many are wanted, 1 to %d", said, mostCopies))
	}
	return nil
}

// answerFlags lists the flags of release, for a message.
func answerFlags() string {
	var names []string
	for _, a := range Answers {
		names = append(names, "--"+a.Name)
	}
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " or " + names[last]
}

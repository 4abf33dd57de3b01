// Package answers names what a person may answer to a draft that leaves something in doubt: the words of the flags of
// release and of the forms of a page. It takes the question of a held job, and gives the answers that it asks for.
package answers

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"tracewheel/pipeline/ledger"
)

// The answers with which a person releases a draft that leaves something in doubt.
const (
	Allowance = "allowance"
	Unit      = "unit"
	Body      = "body"
	// Sizes and Copies overrule the ticket's.
	Sizes  = "sizes"
	Copies = "copies"
	// AsMeasured says that an unlikely measure is right, AsMany that so many copies are wanted.
	AsMeasured = "as-measured"
	AsMany     = "as-many"
	// AsSimulated releases a cut although the simulated blade leaves the line by more than the tolerance.
	AsSimulated = "as-simulated"
	// Cloth is the one of a draft's cloths whose pieces are cut.
	Cloth = "cloth"
	// Beds has a job that takes more than its cutter's bed cut bed by bed, each bed a job of its own. Bed says which of them
	// a job is, such as "2 of 3"; only control.Jobs.Divide sets it.
	Beds = "beds"
	Bed  = ledger.AnswerBed
	// Pieces are the numbers of the pieces to be made, the others left out, as places.Chosen gives them. Only
	// control.Jobs.AgainPieces and Divide set it.
	Pieces = "pieces"
	// ToolUp marks a job that moves without drawing or cutting, as control.ToolUpDry or ToolUpBounds says. A draft
	// cannot ask for it; a person does, by control.Jobs.ToolUp.
	ToolUp = ledger.AnswerToolUp
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

// All are all that a job may ask for, in the order in which they are asked.
var All = []Answer{
	{Name: Allowance, Help: "included, or a width such as 10mm, for an outline that does not say", Label: "Seam allowance: included, or a width such as 10mm"},
	{Name: Unit, Help: "mm, cm or in, for a draft that does not say", Label: "Unit of the draft", Choices: []string{"mm", "cm", "in"}},
	{Name: Body, Help: "one of a measured draft's bodies, or a measure card, where the draft does not say", Label: "Body, or a measure card"},
	{Name: Sizes, Help: "the sizes to make, parted by commas, in place of the ticket's", Label: "Sizes, parted by commas"},
	{Name: Copies, Help: "how many copies to make, in place of the ticket's", Label: "Copies"},
	{Name: Cloth, Help: "the cloth whose pieces a cutter cuts, where the draft is cut from several", Label: "Cloth whose pieces are cut"},
	{Name: Beds, Help: "cut pieces that take more than the bed bed by bed, each bed a job of its own", Label: "Cut them bed by bed, each bed a job of its own", Yes: true},
	{Name: AsMeasured, Help: "a measure that looks unlikely was taken again and is right", Label: "The measure was taken again and is right", Yes: true},
	{Name: AsMany, Help: "the ticket's large number of copies is right", Label: "So many copies are wanted", Yes: true},
	{Name: AsSimulated, Help: "cut although the simulated blade leaves the line; look at the job's as-cut picture first", Label: "Cut it although the simulated blade leaves the line", Yes: true},
}

// AskedBy gives the answers that the question of a held job names, or all where it names none.
func AskedBy(question string) (asked []Answer) {
	for _, a := range All {
		if strings.Contains(question, "--"+a.Name) {
			asked = append(asked, a)
		}
	}
	if asked == nil {
		return All
	}
	return asked
}

// Reordered are the answers by which a person changes how much of a draft is made; they may be given unasked.
func Reordered() (some []Answer) {
	for _, a := range All {
		if a.Name == Sizes || a.Name == Copies {
			some = append(some, a)
		}
	}
	return some
}

// Flags lists the flags of release, for a message.
func Flags() string {
	var names []string
	for _, a := range All {
		names = append(names, "--"+a.Name)
	}
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " or " + names[last]
}

// mostCopies is the greatest number of copies that an answer may want.
const mostCopies = 10_000

// Uncountable says why the copies among some answers are no number of copies; "" where they are, or where none are given.
func Uncountable(given map[string]string) string {
	said, is := given[Copies]
	if n, err := strconv.Atoi(strings.TrimSpace(said)); is && (err != nil || n < 1 || n > mostCopies) {
		return fmt.Sprintf("%q is no number of copies; write how many are wanted, 1 to %d", said, mostCopies)
	}
	return ""
}

// Said lists answers with their values in words, by their names.
func Said(given map[string]string) string {
	var all []string
	for _, name := range slices.Sorted(maps.Keys(given)) {
		all = append(all, name+" "+given[name])
	}
	return strings.Join(all, ", ")
}

// Part says of which part of its draft a job is, and with which answers, for a line that says that it is ready; "" for all
// of it without an answer.
func Part(given map[string]string) string {
	words, said := Pieced(given), maps.Clone(given)
	for _, name := range []string{ToolUp, Bed, Pieces} {
		delete(said, name)
	}
	if len(said) > 0 {
		words += ", with the answer " + Said(said)
	}
	return words
}

// Pieced says which bed of a whole job a job cuts, and which of the draft's pieces it has: by their numbers in the draft,
// and by those that they have in the job and its picture where these are others.
func Pieced(given map[string]string) (words string) {
	if bed := given[Bed]; bed != "" {
		words = ", bed " + bed
	}
	some := strings.Split(given[Pieces], ",")
	if given[Pieces] == "" {
		return words
	}
	words += ", of the draft's pieces only " + Runs(some)
	last := strconv.Itoa(len(some))
	switch {
	case len(some) == 1 || some[len(some)-1] == last: // they rise, so all have their own numbers; one alone has none in its picture
	case len(some) == 2:
		words += " (here numbered 1 and 2)"
	default:
		words += " (here numbered 1 to " + last + ")"
	}
	return words
}

// Runs tells rising numbers of pieces, three and more that follow one another as a run: "1, 2, 5 to 9".
func Runs(numbers []string) string {
	var told []string
	for i := 0; i < len(numbers); {
		end, first := i, number(numbers[i])
		for end+1 < len(numbers) && number(numbers[end+1]) == first+end+1-i {
			end++
		}
		if end-i < 2 {
			told, i = append(told, numbers[i]), i+1
			continue
		}
		told, i = append(told, numbers[i]+" to "+numbers[end]), end+1
	}
	return strings.Join(told, ", ")
}

// number is that of a piece, 0 for what is none.
func number(text string) int {
	n, _ := strconv.Atoi(text) // 0 is no piece
	return n
}

// OfBeds are the answers of the job of each bed, told by the numbers of its pieces.
func OfBeds(given map[string]string, pieces []string) (all []map[string]string) {
	for k, some := range pieces {
		one := With(With(given, Pieces, some), Bed, fmt.Sprintf("%d of %d", k+1, len(pieces)))
		delete(one, Beds)
		all = append(all, one)
	}
	return all
}

// DrawnOn names the cloth of a job that cuts a further bed, and where it must lie; "" for any other job. Each piece lies
// whole on one bed, so nothing must meet what was cut before.
func DrawnOn(given map[string]string, cloth string) string {
	if bed := given[Bed]; bed == "" || strings.HasPrefix(bed, "1 ") {
		return ""
	}
	return cmp.Or(cloth, "the cloth") + ", drawn on until all that is cut lies off the bed, its selvedge along x"
}

// With gives answers with one more, or with another value of it; those given stay as they are.
func With(given map[string]string, name, value string) map[string]string {
	all := map[string]string{name: value}
	for n, v := range given {
		if n != name {
			all[n] = v
		}
	}
	return all
}

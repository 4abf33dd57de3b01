package desk

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"tracewheel/pipeline/desk/cardtext"
	"tracewheel/pipeline/desk/folder"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/pattern"
)

// ownCard is the name of the form's measures as long as they are not on a card.
const ownCard = "own measures"

// formCard are the form's measures as a card, each with its line of the card.
type formCard struct {
	name     string
	text     []byte
	lines    map[int]string
	measures map[string]string
}

// cardOf writes measures in unit as a card.
func cardOf(unit, name, kind string, measures map[string]string) formCard {
	text, lines := cardtext.New(unit, name, kind, measures)
	return formCard{name, text, lines, measures}
}

// misread reports the measures that cannot be read, nil for none.
func (d *Desk) misread(unit, kind string, measures map[string]string) error {
	own := cardOf(unit, ownCard, kind, measures)
	w := d.maker().Look(making.Request{Name: "card.yaml", Source: []byte("unit: " + unit + "\npieces:\n  card: rectangle 10 by 10; cut 1\nallow: 1\n"),
		Cards: map[string][]byte{ownCard: own.text}, Answers: map[string]string{"body": ownCard}})
	for _, f := range w.Findings {
		if text, mends, measure := own.plainly(f.Message, f.Mend); measure != "" && f.Severity == pattern.Error && f.Rule != pattern.RuleNotForBody {
			said := fault{Text: text, Mend: mends}
			said.atMeasure(measure, measures[measure], f.Rule)
			return &slipError{said}
		}
	}
	return nil
}

// slipError means that a measure of the form cannot be read.
type slipError struct{ fault }

func (e *slipError) Error() string {
	return fmt.Sprintf("%s; %s. Nothing was written", e.Text, e.Mend)
}

// keepCard saves the form's measures, in unit, as a card of their own, and gives its name. The old text of an existing
// card is kept as a version; "mrs wren" is the card "Mrs Wren". The name of one of the draft's own bodies is refused,
// because the draft would draw that body and not the card. A card that changed since the page read it, and has other
// measures, is not written: a *changedCard.
func (d *Desk) keepCard(name, kind, unit string, of head, typed map[string]string, seen string) (string, error) {
	name = strings.Join(strings.Fields(name), " ")
	if name == "" {
		return "", errors.New("the card has no name: write whose measures these are, then keep the card")
	}
	for body := range of.Bodies {
		if strings.EqualFold(body, name) {
			return "", fmt.Errorf("the draft has a body %q of its own, which would be drawn instead of the card: give the card another name, the wearer's", body)
		}
	}
	_, shown, _ := strings.Cut(seen, " ")
	for _, there := range d.cardNames(of, cmp.Or(shown, name)) {
		if strings.EqualFold(strings.Join(strings.Fields(there), " "), name) {
			name = there
		}
	}
	if !slices.ContainsFunc(slices.Collect(maps.Values(typed)), func(v string) bool { return strings.TrimSpace(v) != "" }) {
		return "", errors.New("no measure is written, so no card was kept")
	}
	if err := d.misread(unit, kind, typed); err != nil {
		return "", err
	}
	file, old, err := d.cardFile(name)
	if errors.Is(err, fs.ErrNotExist) {
		if file, err = folder.File(d.o.Cards, name); err != nil {
			return "", err
		}
		text, _ := cardtext.New(unit, name, kind, typed)
		return name, folder.Create(file, append(text, []byte("taken: "+time.Now().Format(time.DateOnly)+"\n")...))
	}
	if err != nil {
		return "", err
	}
	text, err := cardtext.Write(old, kind, unit, typed)
	if err != nil {
		return "", err
	}
	if now, differ := cardSeen(name, old), cardDiffers(old, typed); now != seen && len(differ) > 0 {
		return name, &changedCard{name, now, differ}
	}
	return name, folder.Save(file, text, folder.VersionOf(old))
}

// changedCard means that a card changed since a page read it.
type changedCard struct {
	name, seen string // seen is that of now
	differ     []string
}

func (e *changedCard) Error() string {
	return fmt.Sprintf("there is a card %q which this page did not begin from, and it has other measures: %s. Nothing was written. Keep the card once more to write yours into it; as it is now it is then kept as an older version", e.name, strings.Join(e.differ, "; "))
}

// request is the wish in the form that pipeline/making takes.
func (d *Desk) request(in wish) (making.Request, formCard) {
	r := making.Request{Name: d.fileOf(in.Name), Source: []byte(in.Text)}
	body, own := in.Body, formCard{}
	h := d.headWith(in.Name, in.Text)
	if len(in.Measures) > 0 {
		unit := unitOr(in.Unit, d.unitFor(h, body))
		if h.tells(body) || body == "" {
			body = ownCard
		}
		own = cardOf(unit, body, in.Kind, in.Measures)
		if _, text, err := d.cardFile(body); err == nil && cardtext.Unit(text) == unit { // the wearer's fittings still count
			own.text = append(own.text, cardtext.Changes(text)...)
		}
		r.Cards = map[string][]byte{body: own.text}
	}
	if in.Was != "" && len(in.Measures) == 0 {
		r.Cards = map[string][]byte{body: []byte(in.Was)}
	}
	if name := bodyOf(h, body); r.Cards == nil && name != "" && !h.tells(name) {
		if _, text, err := d.cardFile(name); err == nil { // so that its faults are shown at the fields, too
			measures, _ := cardtext.Measures(text)
			own = formCard{name, nil, cardtext.Lines(text), measures}
		}
	}
	r.Answers = map[string]string{}
	if body != "" {
		r.Answers["body"] = body
	}
	return r, own
}

var (
	onCard   = regexp.MustCompile(`the card (.+?)(?:\.yaml)?, line (\d+)(?:, column \d+)?: `)
	jobWords = regexp.MustCompile(`(?:^|[;.]) *[^;.]*(?:release (?:it|the job)|--[a-z])[^;.]*`)
)

// plainly rewords for the desk a message about a card's line or a job, since the desk has a form and no job. measure
// is the form's measure with the fault, "" for none.
func (c formCard) plainly(text, mend string) (says, mends, measure string) {
	text = onCard.ReplaceAllStringFunc(text, func(said string) string {
		m := onCard.FindStringSubmatch(said)
		if m[1] != c.name {
			return said
		}
		line, err := strconv.Atoi(m[2])
		if name, ok := c.lines[line]; ok && err == nil {
			measure = name
			return "the measure " + name + ": "
		}
		if c.text == nil { // a file, which has other lines as well
			return said
		}
		return "the measures: "
	})
	return text, strings.TrimLeft(jobWords.ReplaceAllString(mend, ""), "; "), measure
}

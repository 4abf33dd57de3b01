package desk

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	yaml "go.yaml.in/yaml/v4"

	"tracewheel/pipeline/making"
)

// ownCard is what the measures of the form are called where they are no card's yet.
const ownCard = "own measures"

// formCard are the measures of the form as a card, each with the line of the card on which it stands.
type formCard struct {
	name  string
	text  []byte
	lines map[int]string
}

// cardText is a measure card of what stands in the form; kind is whose measures are usual: woman, man, child, or ""
// where nobody says.
func cardText(draft, wearer, kind string, measures map[string]string) formCard {
	c := formCard{lines: map[int]string{}}
	var b strings.Builder
	fmt.Fprintf(&b, "unit: %s\n", unitOf(draft))
	if wearer != "" {
		fmt.Fprintf(&b, "wearer: %s\n", quote(wearer))
	}
	if slices.Contains(kinds, kind) {
		fmt.Fprintf(&b, "kind: %s\n", kind)
	}
	b.WriteString("measures:\n")
	names := make([]string, 0, len(measures))
	for name := range measures {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		if v := strings.TrimSpace(measures[name]); v != "" {
			c.lines[strings.Count(b.String(), "\n")+1] = name
			fmt.Fprintf(&b, "  %s: %s\n", quote(name), quote(v))
		}
	}
	c.text = []byte(b.String())
	return c
}

// kinds are the wearers whose usual measures are known.
var kinds = []string{"woman", "man", "child"}

// quote writes a text as YAML, on one line whatever it holds.
func quote(s string) string {
	text, err := json.Marshal(s) // which YAML reads
	if err != nil {
		return `""`
	}
	return string(text)
}

// cardOf reads the measures of a card as they are written, and its kind.
func cardOf(text []byte) (measures map[string]string, kind string) {
	var c struct {
		Kind     string            `yaml:"kind"`
		Measures map[string]string `yaml:"measures"`
	}
	if yaml.Unmarshal(text, &c) != nil {
		return nil, ""
	}
	return c.Measures, c.Kind
}

// takenOf is the day on which a card says that it was taken, "" where it does not.
func takenOf(text []byte) string {
	var c struct {
		Taken yaml.Node `yaml:"taken"`
	}
	if yaml.Unmarshal(text, &c) != nil {
		return ""
	}
	return c.Taken.Value
}

// card are the measures of a card, without where they were taken.
func (d *Desk) card(name string) (measures map[string]string, kind string) {
	file, err := fileOf(d.o.Cards, name)
	if err != nil {
		return nil, ""
	}
	text, err := readPlain(file)
	if err != nil {
		return nil, ""
	}
	said, kind := cardOf(text)
	out := map[string]string{}
	for name, v := range said {
		v, _, _ = strings.Cut(v, ",")
		out[name] = strings.TrimSpace(v)
	}
	return out, kind
}

// keepCard writes the measures of the form as a card of their own, and gives its name. A card that is there keeps an
// old version; "mrs wren" is the card "Mrs Wren". The name of one of the draft's own bodies is refused: the draft
// takes that body and never the card.
func (d *Desk) keepCard(name, kind, draft string, typed map[string]string) (string, error) {
	name = strings.Join(strings.Fields(name), " ")
	if name == "" {
		return "", errors.New("the card has no name: write whose measures these are, then keep the card")
	}
	for body := range headOfText(draft).Bodies {
		if strings.EqualFold(body, name) {
			return "", fmt.Errorf("the draft has a body %q of its own, which would be drawn instead of the card: give the card another name, the wearer's", body)
		}
	}
	for _, there := range namesIn(d.o.Cards) {
		if strings.EqualFold(strings.Join(strings.Fields(there), " "), name) {
			name = there
		}
	}
	file, err := fileOf(d.o.Cards, name)
	if err != nil {
		return "", err
	}
	if !slices.ContainsFunc(slices.Collect(maps.Values(typed)), func(v string) bool { return strings.TrimSpace(v) != "" }) {
		return "", errors.New("no measure is written, so no card was kept")
	}
	old, err := readPlain(file)
	if errors.Is(err, fs.ErrNotExist) {
		text := cardText(draft, name, kind, typed).text
		return name, create(file, append(text, []byte("taken: "+time.Now().Format(time.DateOnly)+"\n")...))
	}
	if err != nil {
		return "", err
	}
	text, err := measuresInto(old, kind, unitOf(draft), typed)
	if err != nil {
		return "", err
	}
	return name, save(file, text, versionOf(old))
}

// request is the wish as pipeline/making takes it.
func (d *Desk) request(in wish) (making.Request, formCard) {
	r := making.Request{Name: d.o.Drafts + "/" + in.Name + ".yaml", Source: []byte(in.Text)}
	body, own := in.Body, formCard{}
	if len(in.Measures) > 0 {
		if _, is := headOfText(in.Text).Bodies[body]; is || body == "" {
			body = ownCard
		}
		own = cardText(in.Text, body, in.Kind, in.Measures)
		own.name = body
		r.Cards = map[string][]byte{body: own.text}
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

// plainly says on the desk what was said of a card's line or of a job: here is a form, and no job.
func (c formCard) plainly(text, mend string) (string, string) {
	text = onCard.ReplaceAllStringFunc(text, func(said string) string {
		m := onCard.FindStringSubmatch(said)
		if m[1] != c.name {
			return said
		}
		line, err := strconv.Atoi(m[2])
		if name, ok := c.lines[line]; ok && err == nil {
			return "the measure " + name + ": "
		}
		return "the measures: "
	})
	return text, strings.TrimLeft(jobWords.ReplaceAllString(mend, ""), "; ")
}

package measured

import (
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/pieces"
	"tracewheel/pipeline/draft/measured/tree"
)

// Each place holds what it says: the letters of the file between two spots are the name, and every point of a
// drawing is found by its sentence.
func TestPlaces(t *testing.T) {
	text := string(samples.Read("ferry-smock.yaml"))
	lines := strings.Split(text, "\n")
	between := func(a, b tree.Spot) string {
		if a.Line != b.Line {
			return ""
		}
		return string([]rune(lines[a.Line-1])[a.Column-1 : b.Column-1])
	}
	found, uses := map[string]tree.Place{}, 0
	for _, p := range placesOf([]byte(text), "x.yaml", Options{}) {
		found[strings.TrimSpace(p.Drawing+" "+p.Name)] = p
		if got := string([]rune(lines[p.Line-1])[p.Column-1:]); !strings.HasPrefix(got, p.Name) && p.Kind != tree.NumberKind {
			t.Errorf("%s %s stands at %d:%d, where the file has %q", p.Drawing, p.Name, p.Line, p.Column, got)
		}
		for _, u := range p.Uses {
			uses++
			if got := between(u.From, u.To); got != u.Name && got != u.Drawing+" "+u.Name && !strings.Contains(got, "girth") {
				t.Errorf("%s uses %q where the file has %q", p.Name, u.Name, got)
			}
		}
	}
	if uses < 100 {
		t.Errorf("only %d uses", uses)
	}
	k, ok := found["front K"]
	if !ok || k.Kind != tree.PointKind || between(k.From, k.To) != "where square to N T at T meets plumb through A" {
		t.Errorf("front K: %+v", k)
	}
	var names []string
	for _, u := range k.Uses {
		names = append(names, u.Name)
	}
	if got := strings.Join(names, " "); got != "N T T A" {
		t.Errorf("K is told from %s", got)
	}

	// A draft that cannot be read whole tells where the rest of it stands.
	broken := strings.Replace(text, "plumb through A", "plumb throgh A", 1)
	places := placesOf([]byte(broken), "x.yaml", Options{})
	if len(places) != len(found) {
		t.Errorf("%d places of a draft with a slip, %d without", len(places), len(found))
	}
}

// placesOf says where a draft tells its numbers, points and edges, also of one that cannot be drawn; nil
// where it is no YAML.
func placesOf(data []byte, name string, opt Options) []tree.Place {
	doc, err := parse(data, name)
	if err != nil {
		return nil
	}
	e := drafting.NewDraft(doc)
	pieces.NewGarment(e)
	e.Build(opt)
	return e.Places()
}

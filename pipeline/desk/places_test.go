package desk

import (
	"context"
	"errors"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"tracewheel/config"
	"tracewheel/config/samples"
)

// TestPlaces: drawing and making wait for a place, give up when the browser closes its connection, and give the place
// back. What depends on the program only is made once.
func TestPlaces(t *testing.T) {
	v := visit(t)
	v.put(v.drafts+"/pocket.yaml", pocket)
	heavy := []string{"chalk", "toile", "sheets", "steps", "steps-file", "cloth", "picture", "reference", "tutorial", "examples"}
	ask := func(ctx context.Context, what string) (string, error) {
		w, r := httptest.NewRecorder(), httptest.NewRequestWithContext(ctx, http.MethodGet, "/", nil)
		if what == "starter" {
			r.SetPathValue("name", samples.Starters()[0])
			v.desk.starterPicture(w, r)
			return w.Body.String(), nil
		}
		text := pocket
		if what == "toile" { // which leaves pockets out
			text = strings.ReplaceAll(pocket, "pocket", "panel")
		}
		err := v.desk.make(w, r, what, wish{Name: "pocket", Text: text, Body: "A"})
		return w.Body.String(), err
	}
	gone, hangUp := context.WithCancel(t.Context())
	hangUp()
	full := func(with func()) {
		for range cap(places) {
			places <- struct{}{}
		}
		with()
		for range cap(places) {
			<-places
		}
	}
	full(func() {
		for _, what := range append(heavy, "starter") {
			text, err := ask(gone, what)
			if text != "" || what != "picture" && what != "starter" && !errors.Is(err, context.Canceled) {
				t.Errorf("%s is made without a place: %v, %d bytes", what, err, len(text))
			}
		}
	})
	first := map[string]string{}
	for _, what := range append(heavy, "starter") {
		text, err := ask(t.Context(), what)
		if err != nil || text == "" {
			t.Errorf("%s: %v, %d bytes", what, err, len(text))
		}
		first[what] = text
	}
	if len(places) != 0 {
		t.Errorf("%d places are not given back", len(places))
	}
	full(func() {
		for _, what := range []string{"reference", "tutorial", "examples", "starter"} {
			if text, err := ask(gone, what); err != nil || text != first[what] {
				t.Errorf("%s is made again: %v, %d bytes", what, err, len(text))
			}
		}
	})
}

// TestHungUp: when the browser closes its connection while its draft is worked out, neither the draft compared with
// nor a picture is made, and the place is free.
func TestHungUp(t *testing.T) {
	v := visit(t)
	ctx, hangUp := context.WithCancel(t.Context())
	asked := 0
	v.desk.o.Room = func() *config.Workroom { // called as each part begins
		asked++
		hangUp()
		return v.room
	}
	if out := v.desk.draw(ctx, wish{Name: "x", Text: pocket, Body: "A", Before: &wish{Text: strings.Replace(pocket, "- 4", "- 5", 1)}}); out.SVG != "" || asked != 1 || len(places) != 0 {
		t.Errorf("%d parts, a picture of %d bytes, %d places taken", asked, len(out.SVG), len(places))
	}
}

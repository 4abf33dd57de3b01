package desk

import (
	"bytes"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/cloths"
	"tracewheel/pipeline/draft"
	"tracewheel/pipeline/making"
)

// toBuy finds on a page the length of the main cloth to buy.
var toBuy = regexp.MustCompile(`to buy +([0-9.]+ m)`)

// TestOneLay: what is bought, what is chalked step by step, the file of the steps and the chalking list are of one
// lay, for typed measures, and every place of a piece is within what is bought. The trousers' first lay takes more, so
// that a list by the first lay would fail.
func TestOneLay(t *testing.T) {
	first := ""
	{
		var b bytes.Buffer
		l, err := making.New(making.Sample()).LayFiles(t.Context(), []making.Request{{Name: "trousers.yaml", Source: samples.Read("trousers.yaml")}}, cloths.Wish{Unsaid: cloths.UsualWidth})
		if err != nil {
			t.Fatal(err)
		}
		l.WriteText(&b)
		first = toBuy.FindStringSubmatch(b.String())[1]
	}
	for _, typed := range []map[string]string{{"waist": "81"}} {
		{
			v := visit(t)
			v.post("/desk/new", url.Values{"starter": {"trousers"}})
			said := map[string]string{}
			for _, what := range []string{"chalk", "cloth", "steps", "steps-file"} {
				status, page := v.post("/desk/draft/trousers", formOf("trousers", "make "+what, typed))
				m := toBuy.FindStringSubmatch(page)
				if status != 200 || m == nil {
					t.Fatalf("%s: %d\n%s", what, status, page[:min(len(page), 2000)])
				}
				said[what] = m[1]
			}
			for what, m := range said {
				if m != said["cloth"] || m == first {
					t.Errorf("%s: %s, bought by %s; the first lay takes %s", what, m, said["cloth"], first)
				}
			}
			form := formOf("trousers", "", typed)
			in := wish{Name: "trousers", Text: form.Get("text"), Body: form.Get("body")}
			for key := range form {
				if name, is := strings.CutPrefix(key, "measure "); is && typed != nil {
					if in.Measures == nil {
						in.Measures, in.Unit = map[string]string{}, "cm"
					}
					in.Measures[name] = form.Get(key)
				}
			}
			m := v.desk.makerFor(in)
			r, _ := v.desk.request(in)
			f, err := m.Chalking(t.Context(), r, cloths.Wish{})
			l, lerr := v.desk.lays.Of(t.Context(), m, r)
			if err != nil || lerr != nil {
				t.Fatal(err, lerr)
			}
			if n := v.desk.lays.Len(); n != 1 {
				t.Errorf("%d lays are kept of one draft", n)
			}
			places := 0
			for _, p := range f.Pieces {
				for _, q := range p.Places {
					places++
					if 10*q.X > l.Cloths[0].ToBuy() { // the draft is in cm
						t.Errorf("%s is chalked at %.1f cm of %.0f mm bought", p.Name, q.X, l.Cloths[0].ToBuy())
					}
				}
			}
			if places < len(f.Pieces) {
				t.Errorf("%d places of %d pieces", places, len(f.Pieces))
			}
		}
	}
}

// TestLayOfWhatItIsMadeOf: another measure, another word and a changed card each have a lay of their own; the same
// input has the cached one. A refusal is shown with its reason.
func TestLayOfWhatItIsMadeOf(t *testing.T) {
	v := visit(t)
	v.files(map[string]string{"drafts/sash.yaml": "style: Sash\nunit: cm\ncard: hale\npieces:\n  sash: strip 5 wide, waist + 10 long; cut 1\nallow: 1\n", "cards/hale.yaml": "unit: cm\nmeasures: {waist: 70}\n"})
	laid := func(in wish) *cloths.Layout {
		t.Helper()
		m := v.desk.maker()
		r, _ := v.desk.request(in)
		l, err := v.desk.lays.Of(t.Context(), m, r)
		if err != nil {
			t.Fatal(err)
		}
		return l
	}
	in := wish{Name: "sash", Text: mustRead(t, v, "sash"), Body: "hale"}
	one := laid(in)
	if laid(in) != one {
		t.Error("the lay is sought again")
	}
	words := in
	words.Text = strings.Replace(in.Text, "+ 10", "+ 20", 1)
	measures := in
	measures.Measures = map[string]string{"waist": "75"}
	for _, other := range []wish{words, measures} {
		if laid(other) == one {
			t.Errorf("%+v has the lay of another draft", other)
		}
	}
	v.put(v.room.Path("cards")+"/hale.yaml", "unit: cm\nmeasures: {waist: 90}\n")
	if now := laid(in); now == one || now.Cloths[0].Lay.LengthUsed == one.Cloths[0].Lay.LengthUsed {
		t.Error("a changed card has the lay of the card before")
	}
	m := v.desk.maker()
	r, _ := v.desk.request(wish{Name: "sash", Text: "style: Sash\nunit: cm\npieces:\n  sash: strip 5 wide; cut 1\n"})
	if _, err := v.desk.lays.Of(t.Context(), m, r); err == nil {
		t.Error("a faulty draft is laid")
	}
	if _, err := draft.FiguresOf(r.Source, r.Name, m.Figuring(r)); err == nil {
		t.Error("the draft has no fault")
	}
}

package desk

import (
	"maps"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/desk/cardtext"
)

// TestRemarksAreConvertedToo: the words after a measure stay, and its number is converted to the other unit with the
// others; 1 in is 25.4 mm (ISO 31, international yard and pound agreement of 1959).
func TestRemarksAreConvertedToo(t *testing.T) {
	in := map[string]string{"front waist": "45, from the neck point over the bust", "bust": "97", "hip": "36,5", "waist": "8 kg", "neck": "14 in, low"}
	want := map[string]string{"front waist": "17 11/16, from the neck point over the bust", "bust": "38 3/16", "hip": "14 3/8", "waist": "8 kg", "neck": "14, low"}
	if got := cardtext.Converted(in, "cm", "in"); !maps.Equal(got, want) {
		t.Errorf("in inches: %q", got)
	}
	if got := cardtext.Converted(map[string]string{"front waist": "17 3/4, over the bust"}, "in", "cm"); got["front waist"] != "45.1, over the bust" {
		t.Errorf("in cm: %q", got)
	}
}

// measuresOfA are the measures of a starter's first body, some of them typed over.
func measuresOfA(starter string, typed map[string]string) wish {
	text := string(samples.Read(starter + ".yaml"))
	in := wish{Name: starter, Text: text, Body: "A", Unit: "cm", Measures: maps.Clone(headOfText(text).Bodies["A"])}
	for name, v := range typed {
		in.Measures[name] = v
	}
	return in
}

// faultsAt are the faults at a measure.
func faultsAt(d drawing, name string) (out []fault) {
	for _, f := range d.Faults {
		if f.Measure == name {
			out = append(out, f)
		}
	}
	return out
}

// TestMissingMeasureIsNoSlip: an empty measure, or one that the card does not have, is reported at its field; no other
// measure is offered in its place.
func TestMissingMeasureIsNoSlip(t *testing.T) {
	v := visit(t)
	for _, name := range []string{"across front", "hip depth", "shoulder", "hip"} {
		d := v.desk.draw(t.Context(), measuresOfA("princess-tunic", map[string]string{name: ""}))
		at := faultsAt(d, name)
		if len(at) != 1 || !strings.Contains(at[0].Text, "is empty, and the draft needs it") || at[0].Offer != nil {
			t.Errorf("%s: at its box %+v of %+v", name, at, d.Faults)
		}
		for _, f := range d.Faults {
			if f.Offer != nil {
				t.Errorf("%s: %+v is offered", name, *f.Offer)
			}
		}
	}
	v.files(map[string]string{"cards/Ottilie.yaml": "unit: cm\nmeasures: {bust: 112, waist: 86}\n"})
	in := measuresOfA("hood", nil)
	in.Measures, in.Body, in.Unit = nil, "Ottilie", ""
	if d := v.desk.draw(t.Context(), in); len(faultsAt(d, "head")) != 1 || faultsAt(d, "head")[0].Offer != nil {
		t.Errorf("a card without head: %+v", d.Faults)
	}
}

// TestFractionsInCentimetres: 14 1/4 in a field of centimetres is reported, for any wearer, and corrected by a click.
func TestFractionsInCentimetres(t *testing.T) {
	v := visit(t)
	in := measuresOfA("princess-tunic", map[string]string{"across front": "14 1/4", "apex depth": "10 7/8, from the neck point"})
	d := v.desk.draw(t.Context(), in)
	for name, word := range map[string]string{"across front": "14 1/4 in", "apex depth": "10 7/8 in, from the neck point"} {
		if at := faultsAt(d, name); len(at) == 0 || at[0].Offer == nil || at[0].Offer.Word != word || at[0].Severity != "warning" {
			t.Errorf("%s: %+v", name, at)
		}
	}
	in.Measures["across front"], in.Measures["apex depth"] = "14 1/4 in", "27 1/2 cm"
	if d = v.desk.draw(t.Context(), in); len(faultsAt(d, "across front"))+len(faultsAt(d, "apex depth")) != 0 {
		t.Errorf("with units: %+v", d.Faults)
	}
}

// TestKindOfTheDraft: a draft that says for whom it is drawn has that kind chosen, and its field is above the
// measures.
func TestKindOfTheDraft(t *testing.T) {
	if k := headOfText(string(samples.Read("bodice-block.yaml"))).kind(); k != "woman" {
		t.Errorf("the bodice block is for %q", k)
	}
	if k := headOfText("style: for a man\n").kind(); k != "" {
		t.Errorf("words of the draft: %q", k)
	}
	v := visit(t)
	v.files(map[string]string{"drafts/block.yaml": string(samples.Read("bodice-block.yaml"))})
	_, page := v.get("/desk/draft/block")
	if kind, first := strings.Index(page, "<option selected>woman"), strings.Index(page, "data-measure="); kind < 0 || kind > first || !strings.Contains(page, `class="unkept" hidden`) {
		t.Errorf("the box of the kind: %d, the first measure %d", kind, first)
	}
}

// TestOtherStarter: where a starter is not for a body with correct measures, the right starter is named.
func TestOtherStarter(t *testing.T) {
	v := visit(t)
	d := v.desk.draw(t.Context(), measuresOfA("trousers-without-darts", map[string]string{"waist": "70", "hip": "100"}))
	if len(d.Faults) == 0 || !strings.Contains(d.Faults[0].Mend, "the starter trousers is for them") {
		t.Errorf("%+v", d.Faults)
	}
}

// TestChildHasABoxForItsHeight: the other measures of a child are judged by its height, which drafts seldom ask for.
// It is saved on the card; an empty field is not a fault.
func TestChildHasABoxForItsHeight(t *testing.T) {
	v := visit(t)
	v.files(map[string]string{"drafts/block.yaml": string(samples.Read("flat-block.yaml"))})
	if _, page := v.get("/desk/draft/block"); strings.Contains(page, `data-measure="height"`) {
		t.Fatal("the draft asks for a height itself")
	}
	form := formOf("flat-block", "draw", nil)
	form.Set("kind", "child")
	_, page := v.post("/desk/draft/block", form)
	if _, at, is := strings.Cut(page, `data-measure="height"`); !is || strings.Contains(strings.SplitN(at, "</p>", 2)[0], "aria-invalid") {
		t.Errorf("no box for the height of a child, or a slip at it")
	}
	form = formOf("flat-block", "card", nil)
	form.Set("kind", "child")
	form.Set("card", "Pia")
	form.Set("measure height", "118")
	v.post("/desk/draft/block", form)
	if _, page := v.get("/desk/draft/block?body=Pia"); !strings.Contains(page, `name="measure height" value="118"`) {
		t.Errorf("the height is not kept")
	}
}

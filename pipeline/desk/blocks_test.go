package desk

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tracewheel/pipeline/desk/folder"
)

// pocketFrom takes its numbers from another draft, pocketBlock, in the same folder.
const (
	pocketBlock = "style: Block\nunit: cm\nnumbers:\n  wide: hand - 4\n"
	pocketFrom  = "style: Pocket\nunit: cm\nbodies: {A: {hand: 20}, B: {hand: 24}}\nbody: A\nfrom: pocket-block\n" +
		"pieces:\n  pocket: rectangle wide by hand; cut 2; allowance included\nnotions:\n  tape: 2*wide\n"
)

// put writes a file in a visitor's folders.
func (v *visitor) put(file, text string) {
	v.t.Helper()
	if err := errors.Join(os.MkdirAll(filepath.Dir(file), 0o700), os.WriteFile(file, []byte(text), 0o600)); err != nil {
		v.t.Fatal(err)
	}
}

// TestBlockBeside: a draft that takes from another can be compared, chalked and bought for as any other.
func TestBlockBeside(t *testing.T) {
	v := visit(t)
	v.put(filepath.Join(v.drafts, "pocket-block.yaml"), pocketBlock)
	v.put(filepath.Join(v.drafts, "pocket.yaml"), pocketFrom)
	out := v.desk.draw(t.Context(), wish{Name: "pocket", Text: pocketFrom, Body: "A", Before: &wish{Body: "B"}})
	if out.SVG == "" || !strings.Contains(strings.Join(out.Changed, "\n"), "wide 16, body B has 20") {
		t.Errorf("compared: %q, faults %+v", out.Changed, out.Faults)
	}
	for made, says := range map[string]string{"steps": `id="step-2"`, "steps-file": `id="step-2"`, "chalk": `<td>wide<td class="n">16<`, "cloth": "tape: 32"} {
		if status, page := v.get("/desk/draft/pocket/" + made); status != 200 || !strings.Contains(page, says) {
			t.Errorf("%s: %d\n%.900s", made, status, page)
		}
	}
}

// TestComparedAnew: the draft compared with is worked out again after a fitting is undone, or a block is written or
// changed.
func TestComparedAnew(t *testing.T) {
	v := visit(t)
	changed := func(text, name, body string) string {
		t.Helper()
		out := v.desk.draw(t.Context(), wish{Name: "pocket", Text: text, Body: body, Before: &wish{Body: name}})
		return strings.Join(out.Changed, "\n")
	}
	const own = "style: Pocket\nunit: cm\nbodies: {A: {hand: 20}}\nnumbers:\n  wide: hand - 4\npieces:\n  pocket: rectangle wide by hand; cut 2; allowance included\n"
	card, block := filepath.Join(v.room.Path("cards"), "wren.yaml"), filepath.Join(v.drafts, "pocket-block.yaml")
	v.put(card, "unit: cm\nmeasures: {hand: 24}\nchanges: {2026-10-31: {wide: 1 more}}\n")
	if got := changed(own, "wren", "A"); !strings.Contains(got, "wide 16, card wren has 21") {
		t.Errorf("with a fitting: %q", got)
	}
	v.put(card, "unit: cm\nmeasures: {hand: 24}\n")
	if got := changed(own, "wren", "A"); !strings.Contains(got, "wide 16, card wren has 20") {
		t.Errorf("the fitting is undone: %q", got)
	}
	v.put(block, pocketBlock)
	if got := changed(pocketFrom, "B", "A"); !strings.Contains(got, "wide 16, body B has 20") {
		t.Errorf("with a block: %q", got)
	}
	v.put(block, strings.Replace(pocketBlock, "hand - 4", "hand/2", 1))
	if got := changed(pocketFrom, "B", "A"); !strings.Contains(got, "wide 10, body B has 12") {
		t.Errorf("the block is changed: %q", got)
	}
	if n := len(v.desk.was.all); n != 2 {
		t.Errorf("%d are kept", n)
	}
}

// TestBlockIsWatched: a page is told the version of the draft that its own takes from, and the version it was drawn
// with, also where the draft is not saved or missing; a request for other files is answered with none.
func TestBlockIsWatched(t *testing.T) {
	v := visit(t)
	block := filepath.Join(v.drafts, "pocket-block.yaml")
	v.put(filepath.Join(v.drafts, "pocket.yaml"), "style: Pocket\n") // the draft in the page takes from the block, the saved one does not
	watched := func() string {
		t.Helper()
		lines := strings.Split(v.told("/desk/draft/pocket/version?card=&block=pocket-block"), "\n")
		if len(lines) != 3 || lines[0] != folder.VersionOf([]byte("style: Pocket\n")) || lines[1] != "" {
			t.Fatalf("%q", lines)
		}
		return lines[2]
	}
	drawn := func() string {
		t.Helper()
		out := v.desk.draw(t.Context(), wish{Name: "pocket", Text: pocketFrom, Body: "A"})
		if len(out.Blocks) != 1 {
			t.Fatalf("drawn from %v", out.Blocks)
		}
		return out.Blocks["pocket-block"]
	}
	if watched() != "" || drawn() != "" {
		t.Errorf("of a block that is not here: %q, %q", watched(), drawn())
	}
	v.put(block, pocketBlock)
	one := watched()
	if one == "" || drawn() != one {
		t.Errorf("%q, drawn with %q", one, drawn())
	}
	v.put(block, strings.Replace(pocketBlock, "hand - 4", "hand/2", 1))
	if two := watched(); two == one || two == "" || drawn() != two {
		t.Errorf("changed: %q, drawn with %q", two, drawn())
	}
	if said := v.told("/desk/draft/pocket/version?block=..%2fsettings"); strings.TrimSpace(strings.SplitN(said, "\n", 2)[1]) != "" {
		t.Errorf("of what lies elsewhere: %q", said)
	}
}

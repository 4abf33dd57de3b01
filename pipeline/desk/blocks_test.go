package desk

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// pocketFrom takes its numbers from another draft, pocketBlock, which lies beside it.
const (
	pocketBlock = "style: Block\nunit: cm\nnumbers:\n  wide: hand - 4\n"
	pocketFrom  = "style: Pocket\nunit: cm\nbodies: {A: {hand: 20}, B: {hand: 24}}\nbody: A\nfrom: pocket-block\n" +
		"pieces:\n  pocket: rectangle wide by hand; cut 2; allowance included\nnotions:\n  tape: 2*wide\n"
)

// put writes files of a visitor's folders.
func (v *visitor) put(file, text string) {
	v.t.Helper()
	if err := errors.Join(os.MkdirAll(filepath.Dir(file), 0o700), os.WriteFile(file, []byte(text), 0o600)); err != nil {
		v.t.Fatal(err)
	}
}

// TestBlockBeside: a draft that takes from another is compared, chalked and bought for as any other.
func TestBlockBeside(t *testing.T) {
	v := visit(t)
	v.put(filepath.Join(v.drafts, "pocket-block.yaml"), pocketBlock)
	v.put(filepath.Join(v.drafts, "pocket.yaml"), pocketFrom)
	out := v.desk.draw(t.Context(), wish{Name: "pocket", Text: pocketFrom, Body: "A", Before: &wish{Body: "B"}})
	if out.SVG == "" || !strings.Contains(strings.Join(out.Changed, "\n"), "wide 16, was 20") {
		t.Errorf("compared: %q, faults %+v", out.Changed, out.Faults)
	}
	for made, says := range map[string]string{"steps": `id="step-2"`, "steps-file": `id="step-2"`, "chalk": `<td>wide<td class="n">16<`, "cloth": "tape: 32"} {
		if status, page := v.get("/desk/draft/pocket/" + made); status != 200 || !strings.Contains(page, says) {
			t.Errorf("%s: %d\n%.900s", made, status, page)
		}
	}
}

// TestBeside: a panic of what runs beside is the caller's, whom the server guards.
func TestBeside(t *testing.T) {
	defer func() {
		if recover() != "broken" {
			t.Error("the panic was swallowed")
		}
	}()
	beside(func() {}, func() { panic("broken") })
}

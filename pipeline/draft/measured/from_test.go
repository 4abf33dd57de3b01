package measured

import (
	"bytes"
	"fmt"
	"io/fs"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"

	"tracewheel/config/samples"
)

// bonedBodice is made of the sample's block: its own numbers count before the block's, its drawing traces one of it.
const bonedBodice = `style: Boned bodice
unit: cm
from: bodice-block.yaml
numbers:
  cap ease: 2
draft low front:
  trace: front
  F: from O down pit + 2
pieces:
  front: low front; cut 1 on the fold
  back: back; cut 2, a pair
allow: 1.5
sewn:
  - front shoulder = back shoulder
  - front side + front lower side = back side, within 0.3
`

// A draft that tells no bodies draws the block's, and may say which, or several as sizes; a card of its own counts instead.
func TestBodyOfTheBlock(t *testing.T) {
	const block = "style: Block\nunit: cm\nbodies:\n  A: {waist: 70}\n  B: {waist: 90}\nbody: A\nnumbers:\n  belt: waist\npieces:\n  band: strip 4 wide, waist long; cut 1\nallow: 1\n"
	for _, c := range []struct{ more, want string }{
		{"", "70"}, {"body: B\n", "90"}, {"sizes: A, B\n", "70 90"}, {"body: chorus-4\n", "79"}, {"card: chorus-4\n", "79"}, {"bodies: {C: {waist: 60}}\nbody: C\n", "60"},
	} {
		opt := blockFiles(map[string]string{"block": block})
		opt.Card = cards(map[string]string{"chorus-4": "unit: cm\nmeasures: {waist: 79}\n"})
		p, err := Read([]byte("style: S\nunit: cm\nfrom: block.yaml\n"+c.more+"pieces:\n  belt: strip 4 wide, belt long; cut 1\nallow: 1\n"), "x.yaml", opt)
		if err != nil {
			t.Errorf("%q: %v", c.more, err)
			continue
		}
		var long []string
		for _, pc := range p.Pieces {
			b := orb.MultiPoint(pc.Sew[0].Points).Bound()
			long = append(long, fmt.Sprintf("%.0f", max(b.Right()-b.Left(), b.Top()-b.Bottom())/10))
		}
		if got := strings.Join(long, " "); got != c.want {
			t.Errorf("%q: the belt is %s long, want %s", c.more, got, c.want)
		}
	}
}

func blockFiles(files map[string]string) Options {
	return Options{Block: func(name string) ([]byte, error) {
		if text, ok := files[strings.TrimSuffix(name, ".yaml")]; ok {
			return []byte(text), nil
		}
		return nil, fs.ErrNotExist
	}}
}

// A garment made of a block is the garment drawn with the block's lines written out, piece for piece; what is saved
// whole is that draft.
func TestFromBlock(t *testing.T) {
	block := string(samples.Read("bodice-block.yaml"))
	opt := blockFiles(map[string]string{"bodice-block": block})
	got, err := Read([]byte(bonedBodice), "x.yaml", opt)
	if err != nil {
		t.Fatal(err)
	}
	// Written out by hand: the block up to its pieces, and the garment's own lines behind.
	head, _, _ := strings.Cut(strings.Replace(block, "style: Bodice block with sleeve", "style: Boned bodice", 1), "pieces:\n")
	_, own, _ := strings.Cut(bonedBodice, "draft low front:")
	byHand, err := Read([]byte(strings.Replace(head, "cap ease: 3 ", "cap ease: 2 ", 1)+"draft low front:"+own), "x.yaml", Options{})
	if err != nil {
		t.Fatal(err)
	}
	for i, pc := range byHand.Pieces {
		if diff := cmp.Diff(pc.Sew, got.Pieces[i].Sew); diff != "" || pc.Name != got.Pieces[i].Name || pc.Size != got.Pieces[i].Size {
			t.Errorf("%s differs from the draft written out: %s", pc.Name, diff)
		}
	}
	whole, err := Whole([]byte(bonedBodice), "x.yaml", opt)
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Contains(whole, []byte("from: bodice")) || !bytes.Contains(whole, []byte("the front gets all the bust")) {
		t.Errorf("the whole draft still takes from the block, or lost its comments:\n%s", whole)
	}
	again, err := Read(whole, "x.yaml", Options{}) // no block is asked for
	if err != nil {
		t.Fatal(err)
	}
	for i, pc := range got.Pieces {
		if diff := cmp.Diff(pc.Sew, again.Pieces[i].Sew); diff != "" {
			t.Errorf("%s differs once it is saved whole: %s", pc.Name, diff)
		}
	}
}

// A bodice asks for no arm: a block's drawing of which no piece is made is not worked out.
func TestBlockDrawingsThatAreNotUsed(t *testing.T) {
	block := strings.NewReplacer(", upper arm: 30, hand: 18.5, arm length: 56", "", ", upper arm: 35, hand: 19, arm length: 55", "").Replace(string(samples.Read("bodice-block.yaml")))
	opt := blockFiles(map[string]string{"bodice-block": block})
	if _, err := draw([]byte(bonedBodice), "x.yaml", opt); err != nil {
		t.Error(err)
	}
	sleeved := strings.Replace(bonedBodice, "allow:", "  sleeve: sleeve; cut 2, a pair\nallow:", 1)
	if _, err := draw([]byte(sleeved), "x.yaml", opt); err == nil || !strings.Contains(err.Error(), `bodice-block.yaml:127:27: "upper arm"`) {
		t.Errorf("a sleeve without an arm: %v", err)
	}
}

func TestFromBlockRefused(t *testing.T) {
	block := string(samples.Read("bodice-block.yaml"))
	files := map[string]string{"bodice-block": block, "inches": strings.Replace(block, "unit: cm", "unit: in", 1), "round": "style: R\nunit: cm\nfrom: x\nnumbers:\n  a: 1\n",
		"card": "unit: cm\nmeasures:\n  bust: 92\n", "bad": strings.Replace(block, "from O down nape\n", "from O dwon nape\n", 1), "open": strings.Replace(block, "  N: from O out neck width", "  N: from O out nexk width", 1)}
	for i := range 6 {
		files[fmt.Sprint("deep ", i)] = fmt.Sprintf("style: D\nunit: cm\nfrom: deep %d\nnumbers:\n  a%d: 1\n", i+1, i)
	}
	for from, want := range map[string]string{
		"../bodice-block":               `x.yaml:3:7: "../bodice-block" leads to another folder`,
		"bodice-blok":                   `x.yaml:3:7: "bodice-blok" is no draft beside this one or in the workroom's folder drafts`,
		"inches":                        `x.yaml:3:7: "inches" is written in inches, and this draft in cm`,
		"round":                         `round.yaml:3:7: the drafts take from one another in a circle: x takes from round takes from x`,
		"deep 0":                        `deep 3.yaml:3:7: more than 4 drafts take from one another: x takes from deep 0`,
		"\n  - bodice-block\n  - sleve": `x.yaml:5:5: "sleve" is no draft beside this one`,
		"card":                          `"card" holds no drawings and no numbers`,
		"bad":                           `bad.yaml:79:13: "dwon nape" is no step`,
		"open":                          `open.yaml:35:17: "nexk width" is no measure or number known here; did you mean "neck width"?`,
	} {
		_, err := draw([]byte(strings.Replace(bonedBodice, "bodice-block.yaml", from, 1)), "x.yaml", blockFiles(files))
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("from: %s: want %s, got %v", from, want, err)
		}
	}
	twice := strings.Replace(bonedBodice, "draft low front:", "draft front:\n  Z: start\ndraft low front:", 1)
	if _, err := draw([]byte(twice), "x.yaml", blockFiles(files)); err == nil ||
		!strings.Contains(err.Error(), `x.yaml:6:1: the drawing front comes from bodice-block.yaml too; give this one another name, and begin it with trace: front`) {
		t.Errorf("a drawing told twice: %v", err)
	}
	if _, err := draw([]byte(bonedBodice), "x.yaml", Options{}); err == nil || !strings.Contains(err.Error(), "is read without its folder") {
		t.Errorf("no folder: %v", err)
	}
}

// What is found in a block is told where the draft names it, with the block's own line.
func TestFindingsOfABlock(t *testing.T) {
	block := strings.Replace(string(samples.Read("bodice-block.yaml")), "A: {bust: 97,", "A: {bust: 37,", 1)
	_, err := draw([]byte(bonedBodice), "x.yaml", blockFiles(map[string]string{"bodice-block": block}))
	if err == nil || !strings.HasPrefix(err.Error(), "bodice-block.yaml:9:13: bust 37 cm lies outside") {
		t.Errorf("a bust in inches in the block: %v", err)
	}
	block = strings.Replace(string(samples.Read("bodice-block.yaml")), "waist: 79,", "waist: 47,", 1)
	text := strings.Replace(bonedBodice, "unit: cm\n", "unit: cm\nkind: woman\n", 1)
	if got := saidWith(t, text, blockFiles(map[string]string{"bodice-block": block})); !strings.Contains(got, "warning at 4:7: bodice-block.yaml, line 9: waist 47 cm lies outside what is usual for a woman") {
		t.Errorf("a waist that is unusual in the block: %s", got)
	}
}

// saidWith lists a draft's findings with their places.
func saidWith(t *testing.T, text string, opt Options) string {
	t.Helper()
	e, err := draw([]byte(text), "x.yaml", opt)
	if err != nil {
		return err.Error()
	}
	var out []string
	for _, f := range e.Findings {
		out = append(out, fmt.Sprintf("%s at %d:%d: %s", f.Severity, f.Line, f.Column, f.Message))
	}
	return strings.Join(out, "\n")
}

package making

import (
	"fmt"
	"io/fs"
	"maps"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"tracewheel/config/samples"
)

// agree holds what `check --device` says of a draft against what `convert` makes of it.
func agree(t *testing.T, h *Maker, r Request) (made bool) {
	t.Helper()
	looked := h.Look(r)
	w, err := h.Make(t.Context(), r)
	if err != nil {
		t.Fatal(err)
	}
	made = len(w.Program.Blocks) > 0
	if passes := looked.Passes(); passes != made {
		t.Errorf("%s for %s: check passes %v, convert makes %v\ncheck: %+v\nconvert: %s %s\n%s", r.Name, r.Device, passes, made, looked.Findings, w.Reason, w.Hold, clipped(r.Source))
	}
	return made
}

func clipped(source []byte) string {
	if len(source) > 1500 {
		source = source[:1500]
	}
	return string(source)
}

var agreeing = []string{"roll-plotter", "desk-plotter", "knife-table"}

// A full circle cut once on the fold, with a turning, passed check and was refused by convert: opened
// out, its turnings lie on one another. In two halves it is made.
func TestFullCircleOnTheFold(t *testing.T) {
	h := New(Sample())
	for _, device := range agreeing {
		if agree(t, h, Request{Source: []byte(fmt.Sprintf(dollCircle, "; cut 1 on the fold")), Name: "circle.yaml", Device: device}) {
			t.Errorf("%s: made on the fold", device)
		}
		if !agree(t, h, Request{Source: []byte(fmt.Sprintf(dollCircle, ", for half waist; cut 2")), Name: "circle.yaml", Device: device}) {
			t.Errorf("%s: not made in halves", device)
		}
	}
	if w := h.Look(Request{Source: []byte(fmt.Sprintf(dollCircle, "; cut 1 on the fold")), Name: "circle.yaml"}); w.Passes() {
		t.Error("it passes a check without a device")
	}
}

// An outline may be told clockwise or the other way round, and begin anywhere. A turning that is mirrored in its
// hem lengthens the fold; where the outline was told clockwise from the fold, the piece could not be opened out.
func TestOutlineEitherWayRound(t *testing.T) {
	h := New(Sample())
	edges := []string{"centre on the fold", "hem", "side", "top"}
	want := map[string]float64{}
	for i := range 2 * len(edges) {
		order := append(slices.Clone(edges[i%4:]), edges[:i%4]...)
		if i >= len(edges) {
			slices.Reverse(order)
		}
		source := fmt.Sprintf(halfApron, strings.Join(order, ", "))
		device := agreeing[i%len(agreeing)]
		r := Request{Source: []byte(source), Name: "apron.yaml", Device: device}
		if !agree(t, h, r) {
			t.Errorf("outline %v: not made for %s", order, device)
			continue
		}
		w, err := h.Make(t.Context(), r)
		if err != nil {
			t.Fatal(err)
		}
		if want[device] == 0 {
			want[device] = w.Program.DrawnMM
		}
		if math.Abs(w.Program.DrawnMM-want[device]) > 0.01*want[device] {
			t.Errorf("outline %v for %s: %.0f mm drawn, want about %.0f", order, device, w.Program.DrawnMM, want[device])
		}
	}
}

const halfApron = "style: Apron\nunit: cm\nbodies:\n  A: {waist: 72}\nbody: A\ndraft half:\n  A: start\n  B: from A out 20\n  C: from B down 30\n  D: from A down 30\n" +
	"  top: line A to B\n  side: line B to C\n  hem: line D to C\n  centre: line A to D\n  outline: %s\npieces:\n  apron: half; cut 1 on the fold\nallow:\n  all: 1\n  hem: 4 mirrored\n"

const dollCircle = "style: Circle\nunit: cm\nbodies:\n  A: {waist: 50}\nbody: A\npieces:\n  skirt: full circle 10 long, to fit waist%s\nallow:\n  all: 1.5\n"

// draftsOfTests are the samples and every draft in testdata, by name.
func draftsOfTests(t *testing.T) map[string][]byte {
	t.Helper()
	drafts := map[string][]byte{}
	list, err := fs.ReadDir(samples.Drafts(), ".")
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range list {
		drafts[s.Name()] = samples.Read(s.Name())
	}
	for _, pattern := range []string{"../../testdata/drafts/*", "../../testdata/dxf/*", "../../testdata/strange/*", "../draft/measured/testdata/*.yaml"} {
		files, err := filepath.Glob(pattern)
		if err != nil || len(files) == 0 {
			t.Fatalf("%s: %d files, %v", pattern, len(files), err)
		}
		for _, f := range files {
			if e := filepath.Ext(f); e != ".svg" && e != ".dxf" && e != ".yaml" {
				continue
			}
			data, err := os.ReadFile(f)
			if err != nil {
				t.Fatal(err)
			}
			drafts[f] = data
		}
	}
	return drafts
}

// What check passes for a device, convert makes, and the other way round: over the samples and every
// draft in testdata.
func TestCheckAndConvertAgree(t *testing.T) {
	h := New(Sample())
	drafts := draftsOfTests(t)
	made, devices := 0, agreeing
	for i, name := range slices.Sorted(maps.Keys(drafts)) {
		if os.Getenv("TRACEWHEEL_DRAFTS") == "" {
			devices = agreeing[i%3 : i%3+1] // in turn; all with the switch
		}
		for _, device := range devices {
			r := Request{Source: drafts[name], Name: filepath.Base(name), Device: device}
			ok := agree(t, h, r)
			if r.Ticket = []byte("allowance: included\n"); !ok && !strings.HasSuffix(name, ".yaml") {
				ok = agree(t, h, r)
			}
			if ok {
				made++
			}
		}
	}
	if len(drafts) < 50 || made < 20 {
		t.Errorf("%d drafts, %d made", len(drafts), made)
	}
}

// randomMeasured is a measured draft of a few pieces with random shapes, numbers to cut and turnings,
// many of which cannot be made.
func randomMeasured(r *rand.Rand) string {
	num := func(lo, hi float64) string { return strconv.FormatFloat(lo+(hi-lo)*r.Float64(), 'f', 1, 64) }
	pick := func(s ...string) string { return s[r.IntN(len(s))] }
	cut := pick("cut 1", "cut 2", "cut 2, a pair", "cut 2, alike", "cut 3", "cut 1 on the fold")
	piece := pick(
		"rectangle "+num(1, 130)+" by "+num(1, 130),
		"strip "+num(0.5, 9)+" wide, "+num(5, 200)+" long",
		pick("full", "half", "quarter", "three-quarter")+" circle "+num(5, 90)+" long, to fit waist",
		"panel", "panel")
	b := fmt.Sprintf("style: Random\nunit: cm\nbodies:\n  A: {waist: %s}\nbody: A\ndraft panel:\n  A: start\n  B: from A out %s\n  C: from A out %s, up %s\n  D: from A up %s\n  foot: line A to B\n  side: line B to C\n  top: line C to D\n  fold: line D to A\n  outline: foot, side, top, fold\n",
		num(40, 130), num(1, 90), num(-5, 90), num(1, 120), num(1, 120))
	if strings.Contains(cut, "fold") {
		b = strings.Replace(b, "top, fold\n", pick("top, fold on the fold\n", "top, fold on the fold\n", "top, fold\n"), 1)
	}
	if r.IntN(2) == 0 { // the other way round
		b = strings.Replace(b, "foot, side, top, ", "top, side, foot, ", 1)
	}
	b += "pieces:\n  one: " + piece + "; " + cut + pick("", "; on the bias", "; allowance included") + "\n"
	b += "allow:\n  all: " + num(0, 8) + "\n"
	if piece == "panel" {
		b += pick("", "  side: "+num(0, 9)+"\n", "  foot: "+num(0, 9)+" mirrored\n")
	}
	return b
}

// Random measured drafts: 300, or as many as TRACEWHEEL_DRAFTS says.
func TestCheckAndConvertAgreeOnRandomDrafts(t *testing.T) {
	n, seed := 300, uint64(time.Now().UnixNano())
	if v, err := strconv.Atoi(os.Getenv("TRACEWHEEL_DRAFTS")); err == nil {
		n = v
	}
	if v, err := strconv.ParseUint(os.Getenv("TRACEWHEEL_SEED"), 10, 64); err == nil {
		seed = v
	}
	t.Logf("TRACEWHEEL_SEED=%d", seed)
	r := rand.New(rand.NewPCG(seed, 1))
	h, made := New(Sample()), 0
	for range n {
		if agree(t, h, Request{Source: []byte(randomMeasured(r)), Name: "random.yaml", Device: agreeing[r.IntN(3)]}) {
			made++
		}
		if t.Failed() {
			return
		}
	}
	t.Logf("%d of %d were made", made, n)
	if made < n/20 || made == n {
		t.Errorf("%d of %d random drafts were made: the trial shows little", made, n)
	}
}

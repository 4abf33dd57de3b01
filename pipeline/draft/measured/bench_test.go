package measured

import (
	"fmt"
	"strings"
	"testing"

	"tracewheel/config/samples"
)

// tenPieces is the page's jacket with five more drawings and pieces, each of a body's own measures.
func tenPieces(t testing.TB) []byte {
	t.Helper()
	s := string(samples.Read("lamplighter-jacket.yaml"))
	var drawings, pieces, allow string
	for _, name := range []string{"collar", "cuff", "belt", "flap", "tab"} {
		drawings += strings.ReplaceAll(`draft NAME:
  A: start
  B: from A out bust/4
  C: from B down waist/8
  D: from A down waist/8 + 1
  NAME top: curve A to B, leaving level, arriving level
  NAME end: line B to C
  NAME hem: curve C to D, leaving level back, arriving level back
  NAME fold: line D to A
  outline: NAME top, NAME end, NAME hem, NAME fold

`, "NAME", name)
		pieces += "  " + name + ": " + name + "; cut 2\n"
		for _, e := range []string{"top", "end", "hem", "fold"} {
			allow += "  " + name + " " + e + ": 1/2\n"
		}
	}
	s = strings.Replace(s, "pieces:\n", drawings+"pieces:\n"+pieces, 1)
	return []byte(strings.Replace(s, "allow:\n", "allow:\n"+allow, 1))
}

// Ten drawn pieces for one more body, from the text to the pattern that travels: under 10 ms on one
// core is asked for.
func BenchmarkTenPieces(b *testing.B) {
	data := tenPieces(b)
	p, err := Read(data, "x.yaml", Options{Body: "D"})
	if err != nil {
		b.Fatal(err)
	}
	drawn := 0
	for _, pc := range p.Pieces {
		if pc.Name != "loop" {
			drawn++
		}
	}
	if drawn != 10 {
		b.Fatalf("%d drawn pieces", drawn)
	}
	for b.Loop() {
		if _, err := Read(data, "x.yaml", Options{Body: "D"}); err != nil {
			b.Fatal(err)
		}
	}
}

// A hundred bodies of one draft: 0.3 s is asked for.
func BenchmarkHundredBodies(b *testing.B) {
	text := string(tenPieces(b))
	var bodies, names strings.Builder
	for i := range 100 {
		fmt.Fprintf(&bodies, "  S%d: {bust: %g, waist: 28, hip: 38, across front: 13, across back: 14, shoulder: 4 3/4, front waist: \"17, from the neck point\", apex depth: \"10 1/2, from the neck point\", apex separation: 7 1/2}\n", i, 35.5+float64(i)/100)
		fmt.Fprintf(&names, ", S%d", i)
	}
	text = strings.Replace(text, "body: C\n", bodies.String()+"body: S0\nsizes: "+names.String()[2:]+"\n", 1)
	for b.Loop() {
		p, err := Read([]byte(text), "x.yaml", Options{})
		if err != nil {
			b.Fatal(err)
		}
		if len(p.Pieces) < 1000 {
			b.Fatalf("%d pieces", len(p.Pieces))
		}
	}
}

// A draft with a sought number: the cap's height, for which two curves are drawn and walked some 75 times.
func BenchmarkSoughtNumber(b *testing.B) {
	data := []byte(capped("between 5 and 25 so that length of sleeve back cap + length of sleeve front cap is armhole + 2.5",
		"back cap: line T to K to B, rounded at K 3|front cap: line A to L to T, rounded at L 3|K: from T down cap height/3, out half bicep/2|L: from T down cap height/4, back half bicep/3"))
	for b.Loop() {
		if _, err := Read(data, "x.yaml", Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

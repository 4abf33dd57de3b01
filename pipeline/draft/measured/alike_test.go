package measured

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/draft/measured/figures"
	"tracewheel/pipeline/pattern"
)

// Three edges of 10.04 are sewn to one of 30.12: told to a tenth, each of the three is 10 and the one 30.1. Computed by hand: one
// of the three is told 10.1, so that they add up to what they are sewn to.
func TestToldEdgesAddUp(t *testing.T) {
	text := `style: S
unit: cm
pieces:
  a: rectangle 10.04 by 5; cut 1
  b: rectangle 10.04 by 5; cut 1
  c: rectangle 10.04 by 5; cut 1
  d: rectangle 30.12 by 5; cut 1
allow: 1
sewn:
  - a top + b top + c top = d top
`
	f := figures.Of(drawText(t, text))
	var got []string
	for _, pc := range f.Pieces {
		got = append(got, pc.Edges[0].Sewn)
	}
	if s := f.Seams[0]; strings.Join(got, " ") != "10.1 10 10 30.1" || s.SewnA != 30.1 || s.SewnB != 30.1 {
		t.Errorf("told %v, the seam %v and %v", got, s.SewnA, s.SewnB)
	}
}

// What is told of a seam is the sum of what is told of its edges, in every starter as it ships and with its figures
// read as inches, for the body that it is drawn for; and the two sides differ by what they are meant to,
// where edges are left that no other seam has settled.
func TestToldSeamsAreSums(t *testing.T) {
	seams, apart := 0, 0
	for _, name := range samples.Starters() {
		for _, unit := range []string{"mm", "in"} { // of the tape with which its body is measured
			source := regexp.MustCompile(`(?m)^unit: .*$`).ReplaceAllString(string(samples.Read(name+".yaml")), "unit: "+unit)
			if unit == "mm" {
				source = string(samples.Read(name + ".yaml"))
			}
			e, err := draw([]byte(source), name+".yaml", Options{})
			if err != nil {
				continue // an allowance in cm is too wide in inches
			}
			f := figures.Of(e)
			parts := map[string]float64{"cm": 10, "mm": 1, "in": 8}[f.Unit]
			told := map[string]float64{}
			for _, pc := range f.Pieces {
				for _, ed := range pc.Edges {
					told[pc.Name+"/"+ed.Name] = lengthSaid(t, ed.Sewn)
					if off := math.Abs(told[pc.Name+"/"+ed.Name] - ed.Worn); off > 1.001/parts {
						t.Errorf("%s in %s: %s of %s is told %s, and is %.4f", name, unit, ed.Name, pc.Name, ed.Sewn, ed.Worn)
					}
				}
			}
			for i, s := range e.Seams {
				if slices.ContainsFunc(slices.Concat(s.A, s.B), func(r pattern.EdgeRef) bool { return r.Times > 2 }) {
					continue // told more exactly
				}
				sums := [2]float64{}
				for k, side := range [][]pattern.EdgeRef{s.A, s.B} {
					for _, r := range side {
						sums[k] += max(r.Times, 1) * told[r.Piece+"/"+r.Edge]
					}
				}
				got := f.Seams[i]
				if math.Abs(got.SewnA-sums[0]) > 1e-6 || math.Abs(got.SewnB-sums[1]) > 1e-6 {
					t.Errorf("%s in %s: %s is told %v and %v, its edges %v", name, unit, got.Seam, got.SewnA, got.SewnB, sums)
				}
				if seams++; got.Gathers == 0 && got.Off == 0 && math.Abs(sums[1]-sums[0]-got.Ease) > 1.01/parts {
					apart++
					t.Logf("%s in %s: %s is told %v and %v, ease %.3f", name, unit, got.Seam, got.SewnA, got.SewnB, got.Ease)
				}
			}
		}
	}
	if t.Logf("%d seams, %d told apart", seams, apart); seams < 100 || 20*apart > seams {
		t.Errorf("%d of %d seams are told apart", apart, seams)
	}
}

// lengthSaid reads a length as a tape has it: 10.1, or 3 1/8.
func lengthSaid(t *testing.T, said string) float64 {
	t.Helper()
	var whole, over, under float64
	switch f := strings.Fields(strings.ReplaceAll(said, "/", " ")); len(f) {
	case 1:
		_, _ = fmt.Sscan(said, &whole)
	case 2:
		_, _ = fmt.Sscan(f[0]+" "+f[1], &over, &under)
	case 3:
		_, _ = fmt.Sscan(f[0]+" "+f[1]+" "+f[2], &whole, &over, &under)
	default:
		t.Fatalf("%q is no length", said)
	}
	if under == 0 {
		return whole
	}
	return whole + over/under
}

package measured

import (
	"errors"
	"math"
	"math/rand"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"tracewheel/config/samples"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/pattern"
)

var word = regexp.MustCompile(`[\pL\pN./½¼¾]+|[^\s\pL\pN]`)

// quoted is the first word that a fault speaks of.
var quoted = regexp.MustCompile(`^"([^" …\\]+)`)

// slip changes a draft as a tired writer would: a word left out, said twice, swapped with its
// neighbour or taken from elsewhere, a number mistaken, a line lost, doubled or moved, a stray letter.
func slip(r *rand.Rand, src string, from []string) string {
	lines := strings.Split(src, "\n")
	i := r.Intn(len(lines))
	at := word.FindAllStringIndex(lines[i], -1)
	switch k := r.Intn(10); {
	case k == 0:
		lines = append(lines[:i:i], lines[i+1:]...)
	case k == 1:
		lines = append(lines[:i+1:i+1], lines[i:]...)
	case k == 2:
		j := r.Intn(len(lines))
		lines[i], lines[j] = lines[j], lines[i]
	case len(at) == 0:
		lines[i] += from[r.Intn(len(from))]
	default:
		n := r.Intn(len(at))
		a, b := at[n][0], at[n][1]
		w := lines[i][a:b]
		switch k {
		case 3:
			w = ""
		case 4:
			w += " " + w
		case 5:
			w += " " + from[r.Intn(len(from))]
		case 6:
			w = w[:r.Intn(len(w)+1)] + string(rune('a'+r.Intn(26))) + w[r.Intn(len(w)+1):]
		case 7:
			if x, err := strconv.ParseFloat(w, 64); err == nil {
				w = []string{"0", "-" + w, w + w, strconv.FormatFloat(x*10, 'g', -1, 64), strconv.FormatFloat(x/10, 'g', -1, 64), w + " 1/2"}[r.Intn(6)]
			} else {
				w = from[r.Intn(len(from))]
			}
		default:
			w = from[r.Intn(len(from))]
		}
		lines[i] = lines[i][:a] + w + lines[i][b:]
	}
	return strings.Join(lines, "\n")
}

// TestSlips damages the starter drafts at random, one to three slips each: whatever it is, reading
// ends soon, either with faults that each name a place of the draft, the line that holds the word they speak of, or with pieces every line of which
// is finite and within reach, and never with a panic. TRACEWHEEL_SLIPS says how many of each;
// TRACEWHEEL_SEED repeats one run.
func TestSlips(t *testing.T) {
	many := 300
	if n, err := strconv.Atoi(os.Getenv("TRACEWHEEL_SLIPS")); err == nil {
		many = n
	} else if testing.Short() {
		many = 50
	}
	seed := time.Now().UnixNano()
	if s, err := strconv.ParseInt(os.Getenv("TRACEWHEEL_SEED"), 10, 64); err == nil {
		seed = s
	}
	var all []string
	files := starterFiles(t)
	for _, file := range files {
		all = append(all, word.FindAllString(string(samples.Read(file)), -1)...)
	}
	for _, file := range files {
		t.Run(file, func(t *testing.T) {
			t.Logf("TRACEWHEEL_SEED=%d", seed)
			r := rand.New(rand.NewSource(seed))
			whole, many, known := string(samples.Read(file)), many, slices.ContainsFunc(starters, func(s starter) bool { return s.file == file })
			if !known {
				many /= 15
			}
			drawn, slowest := 0, time.Duration(0)
			for range many {
				src := whole
				for range 1 + r.Intn(3) {
					src = slip(r, src, all)
				}
				began := time.Now()
				if tryslip(t, src) {
					drawn++
				}
				slowest = max(slowest, time.Since(began))
			}
			t.Logf("%d of %d drawn all the same; the slowest took %v", drawn, many, slowest)
			if known && (drawn == 0 || drawn == many) {
				t.Error("the slips do not try what they should")
			}
		})
	}
}

// tryslip reads a damaged draft and tells whether it was drawn.
func tryslip(t *testing.T, src string) bool {
	t.Helper()
	keep := func() {
		f, err := os.CreateTemp("", "slip-*.yaml")
		if err == nil {
			_, err = f.WriteString(src)
		}
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("the draft is kept in %s", f.Name())
		f.Close()
	}
	defer func() {
		if p := recover(); p != nil {
			keep()
			panic(p)
		}
	}()
	p, err := Read([]byte(src), "x.yaml", Options{})
	if err != nil {
		var me *sentence.Error
		if !errors.As(err, &me) || len(me.List) == 0 {
			keep()
			t.Errorf("refused as %T: %v", err, err)
			return false
		}
		lines := strings.Split(src, "\n")
		for _, f := range me.List {
			if f.Line < 1 || f.Line > len(lines) || f.Column < 1 || f.Column > len(lines[f.Line-1])+2 || strings.TrimSpace(f.Text) == "" {
				keep()
				t.Errorf("a fault at no place: %v", f)
			} else if m := quoted.FindStringSubmatch(f.Text); m != nil && !strings.Contains(lines[f.Line-1], m[1]) {
				keep()
				t.Errorf("%v: not on that line", f)
			}
		}
		return false
	}
	for i := range p.Pieces {
		if bad := unsound(&p.Pieces[i]); bad != "" {
			keep()
			t.Errorf("piece %s: %s", p.Pieces[i].Name, bad)
			break
		}
	}
	return true
}

// unsound says what is impossible about the lines of a piece.
func unsound(p *pattern.Piece) string {
	lines := append(p.Sew[:len(p.Sew):len(p.Sew)], p.Cutouts...)
	if p.Cut != nil {
		lines = append(lines, *p.Cut)
	}
	if len(lines) == 0 {
		return "no outline"
	}
	for _, m := range p.Marks {
		lines = append(lines, m.Path)
	}
	for _, l := range lines {
		if l.Closed && len(l.Points) < 3 {
			return "a closed line of " + strconv.Itoa(len(l.Points)) + " points"
		}
		if l.Corners != nil && len(l.Corners) != len(l.Points) {
			return "corners that are not its points'"
		}
		for _, pt := range l.Points {
			if !(math.Abs(pt[0])+math.Abs(pt[1]) < 1e6) { // mm
				return "a point out of reach"
			}
		}
	}
	return ""
}

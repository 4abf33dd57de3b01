package check

import (
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

func cutAs(text string) func(*pattern.Piece) {
	return func(p *pattern.Piece) { p.Cut, p.Sew = closed(text), nil }
}

func sized(text string) *pattern.Pattern { return draftOf(panel(cutAs(text))) }

// A value that must be refused: an outline open by more than 0.1 mm, or crossing itself (common
// practice).
func init() {
	examples[pattern.RuleOutlineOpen] = []example{
		{name: "closed", draft: draftOf(panel())},
		{name: "open at the fold", draft: draftOf(panel(func(p *pattern.Piece) {
			p.Cut = nil
			p.Sew = []geom.Path{*open("0,0 300,0 300,200 0,200")}
			p.Allowance = mm(10)
			p.Fold = &pattern.Segment{B: points("0,200")[0]}
		}))},
		{name: "ends apart", severity: pattern.Error, words: []string{"3 mm apart", "(-10, -7)"}, near: place(-10, -8.5),
			draft: draftOf(panel(func(p *pattern.Piece) { p.Cut = open("-10,-10 310,-10 310,210 -10,210 -10,-7") }))},
		{name: "no line at all", severity: pattern.Error, draft: draftOf(pattern.Piece{Name: "X", Named: true})},
		{name: "open sew lines", severity: pattern.Error, draft: draftOf(panel(func(p *pattern.Piece) {
			p.Cut, p.Sew, p.Allowance = nil, []geom.Path{*open("0,0 300,0 300,200")}, mm(10)
		}))},
		{name: "encloses nothing", severity: pattern.Error, draft: draftOf(panel(cutAs("0,0 0,0 0,0")))},
	}
	examples[pattern.RuleOutlineCrosses] = []example{
		{name: "plain", draft: draftOf(panel())},
		{name: "figure of eight", severity: pattern.Error, near: place(50, 50), words: []string{"(50, 50)"},
			draft: sized("0,0 100,100 100,0 0,100")},
		{name: "small loop in an edge", severity: pattern.Error, near: place(100, 0),
			draft: sized("0,0 102,0 102,2 100,2 100,-2 300,-2 300,200 0,200")},
		{name: "cut-out", severity: pattern.Error, near: place(150, 120), draft: draftOf(panel(func(p *pattern.Piece) {
			p.Cutouts = []geom.Path{*closed("140,110 160,130 160,110 140,130")}
		}))},
	}
	examples[pattern.RuleOutlineDoubled] = []example{
		{name: "two pieces apart", draft: draftOf(panel(), panel(func(p *pattern.Piece) {
			p.Cut, p.Sew = closed("500,0 800,0 800,200 500,200"), nil
		}))},
		{name: "shell and lining stacked", draft: draftOf(panel(), panel(func(p *pattern.Piece) { p.Name = "LINING" }))},
		{name: "the same piece twice", severity: pattern.Warning, draft: draftOf(panel(), panel())},
		{name: "runs back over itself", severity: pattern.Error, near: place(300, 250),
			draft: sized("0,0 300,0 300,300 300,200 0,200")},
		{name: "cut-out twice", severity: pattern.Error, draft: draftOf(panel(func(p *pattern.Piece) {
			p.Cutouts = []geom.Path{*closed("140,110 160,110 160,130"), *closed("160,130 160,110 140,110")}
		}))},
	}
	examples[pattern.RuleOutlineTurnsBack] = []example{
		{name: "plain", draft: draftOf(panel())},
		{name: "a corner of 8 degrees", draft: sized("0,0 300,0 300,42")},
		{name: "a dart of 4 degrees, open", draft: sized("0,0 300,0 300,200 154,200 150,80 146,200 0,200")},
		{name: "a thorn of 13 mm", severity: pattern.Error, count: 1, near: place(313, 200), words: []string{`turns back upon itself at the point W`, `where the "side" edge meets the "waist" edge`},
			draft: draftOf(panel(cutAs("0,0 300,0 300,199.2 313,200 0,200"), func(p *pattern.Piece) {
				p.Points = []pattern.Label{{At: orb.Point{313, 200}, Text: "W"}}
				p.Edges = []pattern.Edge{{Name: "hem", First: 0}, {Name: "side", First: 1}, {Name: "waist", First: 3}, {Name: "centre", First: 4}}
			}))},
		{name: "a thorn, drawn the other way round", severity: pattern.Error, count: 1, near: place(313, 200), draft: sized("0,200 313,200 300,199.2 300,0 0,0")},
		{name: "a thorn on the sew line", severity: pattern.Error, count: 1, words: []string{"the sew line turns back"},
			draft: draftOf(panel(func(p *pattern.Piece) { p.Sew = []geom.Path{*closed("0,0 300,0 300,199.7 305,200 0,200")} }))},
		{name: "a tongue with a blunt end", severity: pattern.Error, count: 1, words: []string{"within 0.3 mm of itself"},
			draft: sized("0,0 300,0 300,199.72 343,199.72 343.6,199.86 343,200 0,200")},
		{name: "a tongue of 43 by 20 mm in one edge", severity: pattern.Error, count: 1, near: place(0, 243), words: []string{"43 mm past the end of an edge", "up to 20 mm wide at the point B", `on the "seam" edge`},
			draft: draftOf(tongued())},
		{name: "its edge told the other way", severity: pattern.Error, count: 1, near: place(0, 243), words: []string{"up to 20 mm wide"},
			draft: draftOf(panel(cutAs("-20,200 0,243 0,200 150,200 150,0 30,0"), func(p *pattern.Piece) {
				p.Edges = []pattern.Edge{{Name: "waist", First: 2}, {Name: "side", First: 3}, {Name: "hem", First: 4}, {Name: "seam", First: 5}}
			}))},
		{name: "a point that is drawn as two edges", draft: draftOf(tongued(func(p *pattern.Piece) {
			p.Edges = append(p.Edges, pattern.Edge{Name: "tie", First: 5})
		}))},
		{name: "a pointed collar", draft: draftOf(panel(cutAs("0,0 100,-30 200,0 200,-60 100,-90 -40,-60"), func(p *pattern.Piece) {
			p.Edges = []pattern.Edge{{Name: "neck", First: 0}, {Name: "centre", First: 2}, {Name: "outer", First: 3}}
		}))},
		{name: "points along a hem", draft: draftOf(panel(cutAs("0,0 20,-50 40,0 60,-50 80,0 100,-50 120,0 120,200 0,200"), func(p *pattern.Piece) {
			p.Edges = []pattern.Edge{{Name: "hem", First: 0}, {Name: "side", First: 6}, {Name: "top", First: 7}, {Name: "centre", First: 8}}
		}))},
		{name: "a slit with a blunt end", severity: pattern.Error, count: 1, words: []string{"within 0.3 mm of itself"},
			draft: sized("0,0 300,0 300,200 150.2,200 150.2,150 150,150 150,200 0,200")},
		{name: "a slit that is open by 0.5", draft: sized("0,0 300,0 300,200 150.5,200 150.5,150 150,150 150,200 0,200")},
	}
	half := func(p *pattern.Piece) {
		cutAs("0,0 300,0 300,200 0,200")(p)
		p.Fold = &pattern.Segment{B: points("0,200")[0]}
	}
	slash := func(text string) func(*pattern.Piece) {
		return func(p *pattern.Piece) { p.Cutouts = []geom.Path{*open(text)} }
	}
	lettered := func(p *pattern.Piece) { p.Points = []pattern.Label{{At: points("300,200")[0], Text: "A"}} } // a measured draft
	examples[pattern.RuleCutoutOutside] = []example{
		{name: "inside", draft: draftOf(panel(func(p *pattern.Piece) { p.Cutouts = []geom.Path{*closed("140,110 160,110 160,130")} }))},
		{name: "over the fold", draft: draftOf(panel(cutAs("0,0 300,0 300,200 0,200"), func(p *pattern.Piece) {
			p.Fold = &pattern.Segment{B: points("0,200")[0]}
			p.Cutouts = []geom.Path{*closed("-10,90 10,90 10,110 -10,110")}
		}))},
		{name: "over the edge", severity: pattern.Error, near: place(320, 110), words: []string{"10 mm out"},
			draft: draftOf(panel(func(p *pattern.Piece) { p.Cutouts = []geom.Path{*closed("290,90 320,110 290,130")} }))},
		{name: "into the allowance", severity: pattern.Error, near: place(307, 110), words: []string{"7 mm beyond the seam line"},
			draft: draftOf(panel(func(p *pattern.Piece) { p.Cutouts = []geom.Path{*closed("290,90 307,110 290,130")} }))},
		{name: "a slash from an edge inward", draft: draftOf(panel(slash("310,100 200,100")))},
		{name: "a slash from edge to edge", severity: pattern.Error, words: []string{"cuts the piece in two"}, draft: draftOf(panel(cutAs("0,0 300,0 300,200 0,200"), slash("300,100 0,100")))},
		{name: "a slash across a bay of the piece", severity: pattern.Error, words: []string{"out of the piece"},
			draft: draftOf(panel(cutAs("0,0 300,0 300,90 100,100 300,110 300,200 0,200"), slash("290,50 290,150")))},
		{name: "a buttonhole 3 inside", draft: draftOf(panel(lettered, slash("297,100 281,100")))},
		{name: "a buttonhole 1 inside", severity: pattern.Warning, near: place(299, 100), words: []string{"only 1 mm inside"}, draft: draftOf(panel(lettered, slash("299,100 283,100")))},
		{name: "a buttonhole along the seam", severity: pattern.Error, words: []string{"on the seam line"}, draft: draftOf(panel(lettered, slash("0,200 16,200")))},
		{name: "a buttonhole over the fold", draft: draftOf(panel(half, lettered, slash("-8,100 8,100")))},
		{name: "a buttonhole along the fold", severity: pattern.Error, words: []string{"along the fold"}, draft: draftOf(panel(half, lettered, slash("0,90 0,106")))},
	}
	mark := func(label, text string) func(*pattern.Piece) {
		return func(p *pattern.Piece) {
			p.Marks = append(p.Marks, pattern.Mark{Role: pattern.RoleMark, Label: label, Path: *open(text)})
		}
	}
	drill := func(text string) func(*pattern.Piece) {
		return func(p *pattern.Piece) { p.Drills = []pattern.Drill{{At: points(text)[0]}} }
	}
	sewn := func(p *pattern.Piece) { // a side of 10, a hem of 40 at y = 0
		p.Cut = nil
		p.Edges = []pattern.Edge{{Name: "hem", First: 0, Allowance: &pattern.Width{From: 40, To: 40}}, {Name: "side", First: 1, Allowance: &pattern.Width{From: 10, To: 10}}}
	}
	examples[pattern.RuleMarkOutside] = []example{
		{name: "inside", draft: draftOf(panel(mark("buttonhole", "280,100 296,100"), drill("20,20")))},
		{name: "a slit in the allowance", draft: draftOf(panel(mark("slit", "309,100 296,100")))},
		{name: "in the allowance that will be built", draft: draftOf(panel(sewn, mark("slit", "150,-38 150,20"), mark("slit", "308,100 290,100"), mark("", "312,-35 290,10")))},
		{name: "over the fold", draft: draftOf(panel(half, mark("buttonhole", "-8,100 8,100")))},
		{name: "letters beside the piece", draft: draftOf(panel(func(p *pattern.Piece) { p.Labels = []pattern.Label{{At: points("400,50")[0], Text: "PANEL"}} }))},
		{name: "no mark", draft: draftOf(panel(func(p *pattern.Piece) {
			p.Marks = []pattern.Mark{{Role: pattern.RoleCheck, Path: *closed("400,0 500,0 500,100 400,100")}}
		}))},
		{name: "the sign of a loop at the edge", draft: draftOf(panel(mark("loop", "307,100 313,100")))},
		{name: "ends beyond the edge", severity: pattern.Warning, near: place(316, 100), words: []string{"the buttonhole reaches", "6 mm beyond"},
			draft: draftOf(panel(mark("buttonhole", "290,100 316,100")))},
		{name: "a button far away", severity: pattern.Warning, near: place(710, 100), words: []string{"the button lies", "400 mm beyond"},
			draft: draftOf(panel(mark("button", "707,100 713,100")))},
		{name: "a drill hole", severity: pattern.Warning, near: place(-20, 50), words: []string{"a drill hole lies", "10 mm beyond"}, draft: draftOf(panel(drill("-20,50")))},
		{name: "beyond the allowance that will be built", severity: pattern.Warning, count: 2, near: place(150, -45), words: []string{"the slit reaches", "5 mm beyond"},
			draft: draftOf(panel(sewn, mark("slit", "150,-45 150,20"), mark("slit", "316,100 290,100")))},
		{name: "a slit that leaves part of a seam open", draft: draftOf(panel(mark("slit", "300,0 300,80")))},
		{name: "a slit along the whole of a seam", severity: pattern.Warning, words: []string{"along the whole edge"}, draft: draftOf(panel(mark("slit", "300,0 300,200")))},
		{name: "a slit from edge to edge", severity: pattern.Warning, words: []string{"in two"}, draft: draftOf(panel(mark("slit", "300,100 0,100")))},
		{name: "a buttonhole that ends on the seam", severity: pattern.Warning, near: place(300, 100), words: []string{"on the seam line"}, draft: draftOf(panel(mark("buttonhole", "284,100 300,100")))},
		{name: "a buttonhole along the fold", severity: pattern.Warning, words: []string{"along the fold"}, draft: draftOf(panel(half, mark("buttonhole", "0,90 0,106")))},
		{name: "a line across a bay of the piece", severity: pattern.Warning, words: []string{"the tuck reaches outside"},
			draft: draftOf(panel(cutAs("0,0 300,0 300,50 100,100 300,150 300,200 0,200"), mark("tuck", "280,20 280,180")))},
		{name: "a line along a bay of the piece", draft: draftOf(panel(cutAs("0,0 300,0 300,50 100,100 300,150 300,200 0,200"), mark("tuck", "90,20 90,180")))},
		{name: "a drill hole beyond the fold", severity: pattern.Warning, near: place(-30, 20), words: []string{"beyond the fold"}, draft: draftOf(panel(half, drill("-30,20")))},
		{name: "a slit beyond the fold", severity: pattern.Warning, words: []string{"the slit lies beyond the fold"}, draft: draftOf(panel(half, mark("slit", "-30,90 -30,106")))},
		{name: "past the fold and past the mirrored edge", severity: pattern.Warning, near: place(-310, 20), words: []string{"10 mm beyond"}, draft: draftOf(panel(half, drill("-310,20")))},
	}
	examples[pattern.RuleFoldNotStraight] = []example{
		{name: "on the left edge", draft: draftOf(panel(func(p *pattern.Piece) {
			p.Fold = &pattern.Segment{A: points("-10,-10")[0], B: points("-10,210")[0]}
			p.Sew = []geom.Path{*open("-10,0 300,0 300,200 -10,200")}
		}))},
		{name: "drawn out past the piece", draft: draftOf(panel(cutAs("0,0 300,0 300,200 0,200"), func(p *pattern.Piece) {
			p.Fold = &pattern.Segment{A: points("0,-15")[0], B: points("0,230")[0]}
		}))},
		{name: "drawn short of its ends", draft: draftOf(panel(cutAs("0,0 300,0 300,200 0,200"), func(p *pattern.Piece) {
			p.Fold = &pattern.Segment{A: points("0,40")[0], B: points("0,160")[0]}
		}))},
		{name: "straight for a part only", severity: pattern.Error, draft: draftOf(panel(cutAs("40,0 300,0 300,200 0,200 0,120"), func(p *pattern.Piece) {
			p.Fold = &pattern.Segment{B: points("0,200")[0]}
		}))},
		{name: "bent edge", severity: pattern.Error, near: place(0, 100), words: []string{"6 mm"},
			draft: draftOf(panel(cutAs("0,0 300,0 300,200 0,200 -6,100"), func(p *pattern.Piece) {
				p.Fold = &pattern.Segment{B: points("0,200")[0]}
			}))},
		{name: "inside the piece", severity: pattern.Error, draft: draftOf(panel(func(p *pattern.Piece) {
			p.Fold = &pattern.Segment{A: points("100,-10")[0], B: points("100,210")[0]}
		}))},
		{name: "reaches over", severity: pattern.Error, near: place(-20, 300),
			draft: draftOf(panel(cutAs("0,0 300,0 300,300 -20,300 0,200"), func(p *pattern.Piece) {
				p.Fold = &pattern.Segment{B: points("0,200")[0]}
			}))},
	}
	examples[pattern.RuleSizeImplausible] = []example{
		{name: "plain", draft: draftOf(panel())},
		{name: "an inch read as a millimetre", severity: pattern.Error, draft: sized("0,0 11.8,0 11.8,7.9 0,7.9"),
			words: []string{"too small", "11.8 by 7.9 mm"}},
		{name: "a millimetre read as an inch", severity: pattern.Error, draft: sized("0,0 7620,0 7620,5080 0,5080")},
		{name: "one tiny tab", severity: pattern.Warning, draft: draftOf(panel(), panel(cutAs("500,0 515,0 515,10 500,10")))},
	}
	wide := Limits{Width: 914, Margin: 7}
	examples[pattern.RuleTooWide] = []example{
		{name: "fits", draft: draftOf(panel()), lim: wide},
		{name: "no device", draft: sized("0,0 5000,0 5000,3000 0,3000")},
		{name: "paper turns", draft: sized("0,0 2000,0 2000,880 0,880"), lim: wide},
		{name: "the margin counts", severity: pattern.Error, draft: sized("0,0 2000,0 2000,905 0,905"), lim: wide},
		{name: "cloth does not turn", severity: pattern.Error, draft: sized("0,0 2000,0 2000,880 0,880"),
			lim: Limits{Width: 914, Cloth: true}, words: []string{"880 mm long", "2000 mm wide", "914 mm across"}},
		{name: "bed too short", severity: pattern.Error, draft: sized("0,0 1700,0 1700,1200 0,1200"), lim: Limits{Width: 1000, Length: 1600}},
		{name: "half on the fold", severity: pattern.Error, lim: Limits{Width: 914, Cloth: true},
			draft: draftOf(panel(cutAs("0,0 500,0 500,900 0,900"), func(p *pattern.Piece) {
				p.Fold = &pattern.Segment{B: points("0,900")[0]}
			})), words: []string{"1000 mm wide", "opened out"}},
		{name: "allowance to be built", severity: pattern.Error, lim: Limits{Width: 319, Cloth: true, Allowance: mm(10)},
			draft: draftOf(panel(func(p *pattern.Piece) { p.Cut = nil })), words: []string{"320 mm wide"}},
	}
	blade := Limits{Cuts: true, BladeOffset: 1}
	examples[pattern.RuleTooFine] = []example{
		{name: "plain", draft: draftOf(panel()), lim: blade},
		{name: "a pen does not mind", draft: sized("0,0 300,0 300,100 298.8,100 298.8,102 300,102 300,200 0,200")},
		{name: "a step of 1.2", severity: pattern.Warning, lim: blade, near: place(300, 100),
			draft: sized("0,0 300,0 300,100 298.8,100 298.8,105 300,105 300,200 0,200"), words: []string{"1 more"}},
		{name: "a narrow V", severity: pattern.Warning, lim: blade, draft: draftOf(panel(func(p *pattern.Piece) {
			p.Notches = []pattern.Notch{{At: points("100,-10")[0], Kind: pattern.NotchV, Depth: 4, Width: 1.5}}
		}))},
	}
	examples[pattern.RuleGrainMissing] = []example{
		{name: "there", draft: draftOf(panel())},
		{name: "none", severity: pattern.Note, draft: draftOf(panel(func(p *pattern.Piece) { p.Grain = nil }))},
	}
	examples[pattern.RuleGrainOutside] = []example{
		{name: "inside", draft: draftOf(panel())},
		{name: "end outside", severity: pattern.Warning, near: place(150, 220), draft: draftOf(panel(func(p *pattern.Piece) {
			p.Grain.B = points("150,220")[0]
		}))},
	}
	examples[pattern.RuleQuantityMissing] = []example{
		{name: "said", draft: draftOf(panel())},
		{name: "unsaid", severity: pattern.Note, draft: draftOf(panel(func(p *pattern.Piece) { p.Quantity = 0 }))},
	}
	examples[pattern.RuleLabelMissing] = []example{
		{name: "named", draft: draftOf(panel())},
		{name: "nameless", severity: pattern.Note, draft: draftOf(panel(func(p *pattern.Piece) { p.Named = false }))},
	}
}

// tongued is a panel whose seam runs past its end and comes back in a curve: drawn from the waist's end down to B, up
// to the bust point and on to the hem.
func tongued(change ...func(*pattern.Piece)) pattern.Piece {
	return panel(append([]func(*pattern.Piece){cutAs("30,0 150,0 150,200 0,200 0,243 -20,200"), func(p *pattern.Piece) {
		p.Points = []pattern.Label{{At: orb.Point{0, 243}, Text: "B"}}
		p.Edges = []pattern.Edge{{Name: "hem", First: 0}, {Name: "side", First: 1}, {Name: "waist", First: 2}, {Name: "seam", First: 3}}
	}}, change...)...)
}

// The quick search for runs finds what looking along the whole line finds, on random outlines with thorns, tongues
// and slits of every width about the limit, however their lines are cut up.
func TestRunBesideItself(t *testing.T) {
	seed := rand.Uint64()
	if n, err := strconv.ParseUint(os.Getenv("TRACEWHEEL_SEED"), 10, 64); err == nil {
		seed = n
	}
	t.Logf("TRACEWHEEL_SEED=%d", seed)
	r := rand.New(rand.NewPCG(seed, 1))
	found := 0
	for range 400 {
		wide, long := 0.6*r.Float64(), 40*r.Float64()
		x, skew := 40+200*r.Float64(), r.Float64()-0.5
		if r.IntN(2) == 0 {
			long = -long // a slit
		}
		corners := []orb.Point{{0, 0}, {300, 0}, {300, 200}, {x + wide, 200}, {x + wide + skew, 200 + long}, {x + skew*r.Float64(), 200 + long}, {x, 200}, {0, 200}}
		line := geom.Path{Closed: true}
		for i, c := range corners {
			parts := 1 + r.IntN(1+r.IntN(80))
			for k := range parts {
				line.Points = append(line.Points, geom.Lerp(c, corners[(i+1)%len(corners)], float64(k)/float64(parts)))
			}
		}
		from := r.IntN(len(line.Points))
		line.Points = append(line.Points[from:len(line.Points):len(line.Points)], line.Points[:from]...)
		if r.IntN(2) == 0 {
			slices.Reverse(line.Points)
		}
		line = line.Apply(geom.Rotate(7 * r.Float64()))
		at, segment, ok := runBesideItself(&line)
		wantAt, wantSegment, want := lookAlong(&line, [][2]float64{{0, line.Length()}})
		if at != wantAt || segment != wantSegment || ok != want {
			t.Errorf("%.3f wide, %.2f long: %v, %v, %v; along the whole line %v, %v, %v", wide, long, at, segment, ok, wantAt, wantSegment, want)
		}
		if ok {
			found++
		}
	}
	if found < 40 || found > 360 {
		t.Errorf("%d of 400 have a run", found)
	}
}

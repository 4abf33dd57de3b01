// Package prepare takes a checked draft and its ticket and makes cut-ready pieces: all copies, halves opened out at
// the fold, the cut line built round a sew line, notches moved to the cut line in the form that is cut, letters, grain
// line and marks for a pen. It knows neither the material nor the machine's language.
package prepare

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// Options are the device's and the workroom's settings. Lengths are mm; the zero Options are a pen plotter with common
// settings.
type Options struct {
	// Cuts is true of a device with a knife; HasPen of one that draws, as a device without a knife always does.
	Cuts, HasPen bool
	// WorkroomAllowance is used where neither the draft nor the ticket states one, and only for a pen: cloth is not
	// cut on an assumption.
	WorkroomAllowance *float64
	// MitreLimit is the greatest distance of a mitred tip from its corner, in widths; 0 means 3.
	MitreLimit float64
	// NotchDepth and NotchWidth are the defaults of notches; 0 means 4 mm each. A depth is at most half the allowance.
	NotchDepth, NotchWidth float64
	// NotchLeft is the least distance of a notch without a depth from the sew line, 0 means 2 mm; where it is not
	// possible the notch becomes a pen mark.
	NotchLeft float64
	// LetterHeight is the height of the letters, 0 means 7 mm; small pieces get smaller ones.
	LetterHeight float64
	// OneWay is true for a material with a nap: the grain line then has one arrow head.
	OneWay bool
	// Unit is the workroom's unit, for the lengths of a draft without one.
	Unit string
	// Once makes a piece once for all its copies, with how often it is cut, and one on the fold as its half: a pattern
	// to cut by. Without it every copy is made, opened out.
	Once bool
	// Net says on each piece that there is no seam allowance, once more in large letters where there is room.
	Net bool
	// Job is the job's number to write on the pieces, 0 for none.
	Job int64
	// Only are the numbers of the only pieces to make, such as "3,4,8", counted from 1 among all; "" for all.
	Only string
	// Cloth is the only cloth whose pieces are made, by its pattern.Pattern.ClothCalled; "" for all.
	Cloth string
}

func (o Options) pen() bool             { return !o.Cuts || o.HasPen }
func (o Options) mitreLimit() float64   { return or(o.MitreLimit, 3) }
func (o Options) notchDepth() float64   { return or(o.NotchDepth, 4) }
func (o Options) notchWidth() float64   { return or(o.NotchWidth, 4) }
func (o Options) notchLeft() float64    { return or(o.NotchLeft, 2) }
func (o Options) letterHeight() float64 { return or(o.LetterHeight, 7) }

func or(v, otherwise float64) float64 {
	if v > 0 {
		return v
	}
	return otherwise
}

// Result is the pieces, one for each copy, in the order of sizes and of the draft, and findings about decisions.
type Result struct {
	Ready    []pattern.Ready
	Findings []pattern.Finding
}

// Part is one of the drafts of a job, with its ticket.
type Part struct {
	Pattern *pattern.Pattern
	Ticket  pattern.Ticket
}

// Name is the part's name beside others: its file, and its body.
func (p Part) Name() string {
	name := filepath.Base(p.Pattern.Source)
	if p.Ticket.Body != "" {
		name += " for " + p.Ticket.Body
	}
	return name
}

// Told are the findings of one of several parts, with its name, and with each piece's index among all; first is the
// index of the part's first piece.
func (p Part) Told(found []pattern.Finding, first int) []pattern.Finding {
	for i := range found {
		found[i].Message = p.Name() + ": " + found[i].Message
		if found[i].Index >= 0 {
			found[i].Index += first
		}
	}
	return found
}

// Run prepares what the ticket asks of a draft. The pattern is not changed. The error joins all faults: sizes or
// pieces that the draft does not have, with a list of those it has; an outline that may be cut line or sew line; an
// allowance that nobody states; an outline that is open or crosses itself. With an error there are no pieces.
func Run(p *pattern.Pattern, t pattern.Ticket, opt Options) (Result, error) {
	return RunAll([]Part{{p, t}}, opt)
}

// RunAll prepares the pieces of the drafts of one job, numbered together. Index in pieces and findings counts in the
// pattern.Together of the drafts; a fault names its draft.
func RunAll(parts []Part, opt Options) (Result, error) {
	chosen, notes := make([][]int, len(parts)), make([][]pattern.Finding, len(parts))
	all, made := 0, 0
	var faults []error
	told := func(part Part, err error) error {
		if len(parts) == 1 {
			return err
		}
		return fmt.Errorf("%s: %w", part.Name(), err)
	}
	for i, part := range parts {
		var err error
		if chosen[i], notes[i], err = choose(part.Pattern, part.Ticket); err != nil {
			faults = append(faults, told(part, err))
			continue
		}
		chosen[i] = slices.DeleteFunc(chosen[i], func(k int) bool {
			return opt.Cloth != "" && part.Pattern.ClothCalled(part.Pattern.Pieces[k].Material) != opt.Cloth
		})
		made += pieces(part.Pattern, chosen[i], int(max(part.Ticket.Copies, 1)))
		if made > mostPieces {
			return Result{}, fmt.Errorf("the draft and its ticket ask for %d pieces; %d are made at a time, so ask for fewer copies", made, mostPieces)
		}
		all += len(chosen[i])
	}
	if len(faults) > 0 {
		return Result{}, errors.Join(faults...)
	}
	if !opt.Once {
		all = made
	}
	only, err := numbers(opt.Only, all)
	if err != nil {
		return Result{}, err
	}
	var res Result
	first, garments := 0, 0
	for i, part := range parts {
		out, err := run(part, chosen[i], maker{opt: opt, before: len(res.Ready), all: all, only: only})
		if err != nil {
			faults = append(faults, told(part, err))
			continue
		}
		for k := range out.Ready {
			r := &out.Ready[k]
			r.Draft, r.Index, r.Garment = i, r.Index+first, r.Garment+garments
			if c, ok := part.Pattern.ClothOf(r.Material); ok && len(parts) > 1 {
				r.Material = c.Name // among the cloths of all drafts only this one is its own
			}
		}
		found := append(notes[i], out.Findings...)
		if len(parts) > 1 {
			found = part.Told(found, first)
		}
		for _, r := range out.Ready {
			garments = max(garments, r.Garment)
		}
		first += len(part.Pattern.Pieces)
		res.Ready, res.Findings = append(res.Ready, out.Ready...), append(res.Findings, found...)
	}
	if len(faults) > 0 {
		return Result{}, errors.Join(faults...)
	}
	res.Ready = picked(res.Ready, only)
	return res, nil
}

// run prepares the chosen pieces of one draft; as has the settings of the whole job.
func run(part Part, chosen []int, as maker) (res Result, err error) {
	p, t := part.Pattern, part.Ticket
	included, width, err := t.AllowanceSaid()
	if err != nil {
		return Result{}, err
	}
	var faults []error
	sizes := map[string]int{}
	for _, i := range chosen {
		m := as
		m.p, m.piece, m.index, m.included, m.ticket, m.before = p, p.Pieces[i], i, included, width, as.before+len(res.Ready)
		size := m.piece.Size
		if _, ok := sizes[size]; !ok {
			sizes[size] = 1 + len(sizes)*int(max(t.Copies, 1))
		}
		m.garment = sizes[size]
		ready, err := m.make(int(max(t.Copies, 1)))
		if err != nil {
			faults = append(faults, fmt.Errorf("piece %q: %w", p.Pieces[i].Name, err))
			continue
		}
		res.Ready = append(res.Ready, ready...)
		res.Findings = append(res.Findings, m.findings...)
	}
	return res, errors.Join(faults...)
}

// mostPieces bounds the pieces of one job: far more than a wardrobe cuts at a time, and few enough that a wrong
// quantity does not fill the memory.
const mostPieces = 2000

func pieces(p *pattern.Pattern, chosen []int, copies int) int {
	n := 0
	for _, i := range chosen {
		q := min(max(p.Pieces[i].Quantity, 1), mostPieces+1)
		n += q * min(copies, mostPieces+1)
	}
	return n
}

// maker makes the copies of one piece.
type maker struct {
	p        *pattern.Pattern
	piece    pattern.Piece // a copy, to which the ticket's answers are applied
	index    int
	opt      Options
	included bool
	ticket   *float64
	// before is the number of the job's pieces before these copies, all the number of all.
	before, all int
	// only are the numbers of those that are made, nil for all.
	only  []int
	hands pattern.Hands
	// bothHands is true for a piece that is its own mirror image; garment is the number of the first garment.
	bothHands bool
	garment   int
	findings  []pattern.Finding
}

func (m *maker) note(rule, message, mend string) {
	f := pattern.NewFinding(rule, message, mend)
	f.Piece, f.Index = m.piece.Name, m.index
	if ring, _, ok := m.piece.Ring(); ok {
		f.At = pattern.Place(ring.Bound().Center())
	}
	m.findings = append(m.findings, f)
}

func (m *maker) make(copies int) ([]pattern.Ready, error) {
	half, err := m.cutLine()
	if err != nil {
		return nil, err
	}
	whole, err := m.unfold(half)
	if err != nil {
		return nil, err
	}
	total := max(m.piece.Quantity, 1) * copies
	m.hands, m.bothHands = m.handsOf(whole), whole.fold == nil && m.piece.SameTurnedOver(whole.outline)
	sheet := m.dress(whole)
	drawn := total
	if m.opt.Once {
		drawn = 1
	}
	if m.opt.Once && whole.fold != nil {
		if sheet, err = m.part(sheet, half); err != nil {
			return nil, err
		}
	} else {
		for _, o := range whole.openings {
			sheet.lines = append(sheet.lines, pattern.Line{Role: pattern.RoleCutout, Path: o, Cut: true})
		}
	}
	out := make([]pattern.Ready, 0, drawn)
	for c := 1; c <= drawn; c++ {
		r := pattern.Ready{
			Name: m.piece.Name, Size: m.piece.Size, Material: m.piece.Material,
			Index: m.index, Copy: c, Copies: total, Mirrored: m.hands != pattern.OneHand && c%2 == 0,
			BothHands: m.bothHands, Garment: m.garment + (c-1)/max(m.piece.Quantity, 1),
		}
		m.copyOf(&r, sheet)
		out = append(out, r)
	}
	return out, nil
}

// flat is a piece with its cut line: a half until it is unfolded.
type flat struct {
	outline geom.Path // closed, counter-clockwise, corners marked
	edgeOf  []string
	sew     []geom.Path
	// built is true where the cut line was built here.
	built bool
	// least and most are the widths of the allowance, 0 where they are not known.
	least, most float64
	// widths are the widths of the edges of a built cut line, in order.
	widths []edgeWidth
}

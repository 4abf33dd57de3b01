package devices

// From is the program that goes on with block b after a stop: the prelude, what the place needs,
// and the rest. Where block b is in the middle of a stroke it goes back to the stroke's start,
// because the tool must be set down there again; at is the block from which the rest really comes.
// A block inside the prelude, or none at all, gives the whole program.
func (p Program) From(b int) (rest Program, at int) {
	if b <= p.Prelude || b >= len(p.Blocks) {
		return p, 0
	}
	at = p.StartBefore(b)
	rest = p
	rest.Blocks = append([]Block(nil), p.Blocks[:p.Prelude]...)
	if len(p.Blocks[at].Setup) > 0 {
		rest.Blocks = append(rest.Blocks, Block{Bytes: p.Blocks[at].Setup, Stroke: -1, Piece: -1})
		rest.Prelude++
	}
	rest.Blocks = append(rest.Blocks, p.Blocks[at:]...)
	rest.Seconds, rest.DrawnMM = 0, 0
	for _, block := range rest.Blocks {
		rest.Seconds += block.Seconds
		rest.DrawnMM += block.DrawnMM
	}
	return rest, at
}

// StartBefore is the block at which From goes on: b, or the last before it at which a program may go on.
func (p Program) StartBefore(b int) int {
	if b <= p.Prelude || b >= len(p.Blocks) {
		return 0
	}
	for b > p.Prelude && !p.startsHere(b) {
		b--
	}
	return b
}

// startsHere tells whether a program may go on with block b: it says so itself by its Setup, or
// the block before it belongs to another stroke or ended this one.
func (p Program) startsHere(b int) bool {
	if p.Blocks[b].Setup != nil {
		return true
	}
	before := p.Blocks[b-1]
	return !before.Down && (before.Stroke != p.Blocks[b].Stroke || before.EndsStroke)
}

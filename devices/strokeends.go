package devices

// StrokeEnds translates between strokes and blocks of a program.
type StrokeEnds struct {
	ends    map[int]int // stroke to its last block
	strokes []int       // for each block the last stroke that is whole once it is drawn
}

// StrokeEndsOf looks through a program once.
func StrokeEndsOf(p Program) StrokeEnds {
	s := StrokeEnds{ends: map[int]int{}, strokes: make([]int, len(p.Blocks))}
	last := -1
	for i, b := range p.Blocks {
		if b.EndsStroke && b.Stroke >= 0 {
			s.ends[b.Stroke] = i
			last = b.Stroke
		}
		s.strokes[i] = last
	}
	return s
}

// Block is the block that ends a stroke, -1 where none does.
func (s StrokeEnds) Block(stroke int) int {
	if b, ok := s.ends[stroke]; ok {
		return b
	}
	return -1
}

// Stroke is the last stroke that is whole once a block is drawn, -1 where none is.
func (s StrokeEnds) Stroke(block int) int {
	if block < 0 || block >= len(s.strokes) {
		return -1
	}
	return s.strokes[block]
}

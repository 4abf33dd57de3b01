package devices

// OnLine adds to the blocks' Seconds what the device stands waiting for bytes: a block is drawn once
// all of it has come over a line of the port's speed, and no more comes than the device's buffer holds.
// Without a speed nothing changes. The blocks' Seconds must be those of the drawing alone.
func OnLine(blocks []Block, port PortProfile) {
	if port.Baud <= 0 {
		return
	}
	bits := 1 + orElse(float64(port.DataBits), 8) + orElse(float64(port.StopBits), 1)
	if port.Parity == "even" || port.Parity == "odd" {
		bits++
	}
	wire := bits / float64(port.Baud)
	ends := make([]float64, len(blocks))
	var come, end float64
	held, oldest := 0, 0 // bytes in the device's buffer, and of which block the first of them are
	for i := range blocks {
		b := &blocks[i]
		held += len(b.Bytes)
		for port.Buffer > 0 && held > port.Buffer && oldest < i {
			come = max(come, ends[oldest]) // room only once that is drawn
			held -= len(blocks[oldest].Bytes)
			oldest++
		}
		come += wire * float64(len(b.Bytes))
		before := end
		end = max(end, come) + b.Seconds
		ends[i], b.Seconds = end, end-before
	}
}

package store

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"

	"tracewheel/devices"
)

// The files of a program: the bytes as they are sent, and the places between them where sending may stop.
const (
	ProgramBytes = "program.bin"
	ProgramIndex = "program.json"
)

// index is the content of ProgramIndex: all of a program but its bytes, which are in ProgramBytes, one block after the
// other.
type index struct {
	Program devices.Program `json:"program"`
	Lengths []int           `json:"lengths"`
}

// Findings is the file in which the findings of a job's draft are kept.
const Findings = "findings.json"

// PieceNames is the file in which the names of a refused job's pieces are kept, by their numbers.
const PieceNames = "names.json"

// ProgramFiles are the files in which a program is kept, so that a job continues with the bytes with which it began. The
// index is last: where it is, the bytes are.
func ProgramFiles(p devices.Program) ([]Named, error) {
	ix := index{Program: p, Lengths: make([]int, len(p.Blocks))}
	ix.Program.Blocks = make([]devices.Block, len(p.Blocks))
	for i, b := range p.Blocks {
		ix.Lengths[i] = len(b.Bytes)
		b.Bytes = nil
		ix.Program.Blocks[i] = b
	}
	text, err := json.Marshal(ix)
	if err != nil {
		return nil, fmt.Errorf("writing down a program: %w", err)
	}
	return []Named{{ProgramBytes, p.Bytes()}, {ProgramIndex, text}}, nil
}

// JoinProgram makes a program of its ProgramFiles again.
func JoinProgram(text, data []byte) (devices.Program, error) {
	var ix index
	dec := json.NewDecoder(bytes.NewReader(text))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&ix); err != nil {
		return devices.Program{}, err
	}
	if len(ix.Lengths) != len(ix.Program.Blocks) {
		return devices.Program{}, errors.New("its index does not count its blocks")
	}
	for i, n := range ix.Lengths {
		if n < 0 || n > len(data) {
			return devices.Program{}, fmt.Errorf("block %d wants %d bytes and %d are left", i, n, len(data))
		}
		ix.Program.Blocks[i].Bytes, data = data[:n:n], data[n:]
	}
	if len(data) > 0 {
		return devices.Program{}, fmt.Errorf("%d bytes belong to no block", len(data))
	}
	return ix.Program, nil
}

package pdf

import (
	"bytes"
	"testing"
)

// TestSameBytes: a file is the same whichever others were written before it by the same process.
func TestSameBytes(t *testing.T) {
	made := func(words string) []byte {
		data, err := Pages("words", []byte(words), nil)
		if err != nil {
			t.Fatal(err)
		}
		return data
	}
	first := made("allowance, armhole")
	made("quick brown fox: 0123456789")
	for range 20 {
		if !bytes.Equal(made("allowance, armhole"), first) {
			t.Fatal("the same words give other bytes")
		}
	}
}

package talk

import (
	"fmt"
	"strconv"
	"strings"
)

// Meanings of the codes that HP-GL devices answer, by the HP 7470A Interfacing and Programming
// Manual (07470-90001), chapters 7 and 10; 17 and 18 are of later devices.
var (
	instructionErrors = map[int]string{
		1: "it does not know an instruction",
		2: "an instruction had the wrong number of parameters",
		3: "a parameter was out of range, or a character was out of place",
		5: "it does not have a character set",
		6: "a position was out of its reach",
		7: "a shape was larger than its memory",
		8: "it was told to draw while the paper was not held",
	}
	lineErrors = map[int]string{
		10: "a question was put while another was being answered",
		11: "a device control sequence was not known",
		12: "a device control sequence had a wrong character",
		13: "a device control sequence had a value out of range",
		14: "a device control sequence had too many values",
		15: "bytes arrived damaged: compare baud, data_bits, parity and stop_bits with the device's switches",
		16: "its buffer ran over and bytes are lost: the plot is spoilt; check that flow matches the device and lower margin",
		17: "baud does not match",
		18: "an input or output error",
	}
)

// Meanings of the codes of line-acknowledging controllers that a sender meets. Families of firmware number the rest
// differently, so another code is only repeated.
var (
	refusals = map[int]string{
		1:  "a word had no letter",
		2:  "a number could not be read",
		3:  "a setting was not known",
		8:  "it must stand idle for that",
		9:  "it is locked after an alarm: home it or unlock it at the machine",
		11: "the line was too long",
		15: "the move would leave its reach",
		20: "it does not know a command",
		21: "two commands on one line exclude each other",
		22: "no feed was set",
		24: "two commands both want the axes",
		33: "the end of an arc does not fit its centre",
	}
	alarms = map[int]string{
		1: "a limit switch was hit and the position is lost: home it again",
		2: "the move would leave its reach",
		3: "it was reset while moving and the position is lost: home it again",
		4: "the probe was not as expected", 5: "the probe found nothing",
		6: "homing was reset", 7: "homing was broken off by the door", 8: "homing did not leave the switch",
		9: "homing found no switch",
	}
)

// meaning puts a device's code into words.
func meaning(table map[int]string, code int) string {
	if m, ok := table[code]; ok {
		return m
	}
	return "see its manual for that code"
}

func codeText(kind string, code int, means string) string {
	return fmt.Sprintf("%s %d: %s", kind, code, means)
}

// codeOf gives the number after a prefix, -1 if there is none.
func codeOf(text, prefix string) int {
	n, err := strconv.Atoi(strings.TrimSpace(strings.TrimPrefix(text, prefix)))
	if err != nil {
		return -1
	}
	return n
}

func parsePlace(val string) (Place, bool) {
	parts := strings.Split(val, ",")
	if len(parts) < 3 {
		return Place{}, false
	}
	var v [3]float64
	for i := range v {
		x, err := strconv.ParseFloat(strings.TrimSpace(parts[i]), 64)
		if err != nil {
			return Place{}, false
		}
		v[i] = x
	}
	return Place{X: v[0], Y: v[1], Z: v[2]}, true
}

// printable gives a device's words without control characters, and shortened.
func printable(s string) string {
	q := strconv.QuoteToASCII(s)
	q = q[1 : len(q)-1]
	if len(q) > 200 {
		q = q[:200] + fmt.Sprintf(" ... (%d bytes)", len(s))
	}
	return q
}

package ledger

import (
	"crypto/sha256"
	"database/sql/driver"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"math"
	"strings"

	"modernc.org/sqlite"
)

// Each row of jobs and of sends has the sum of its other columns, which is written with them and compared when the row is
// read: a byte changed by a disk or a person must not release a job or move the place where it continues. Another SQLite
// tool shows the sum as a column of text; a row that it writes is refused.
var (
	jobSummed = []string{"id", "device", "file", "state", "reason", "style", "pieces", "received", "ended", "size", "sha256",
		"same_as", "again_of", "original", "ticket", "ready", "asks", "released", "answers", "sends", "pruning", "stripped",
		"production", "wearer", "due", "material", "lay", "lay_fixed", "rank",
		"laid", "remnant", "remnant_width", "remnant_length", "fits"}
	sendSummed = []string{"job", "no", "began", "updated", "ended", "first", "blocks", "total", "bytes", "sure", "stroke",
		"tool", "end", "cancel", "held"}
)

// SumJobs and SumSends are SQL that sets the sums of all rows to what the rows hold now. They are for programs that make
// ledgers, as tests do: a changed row is trusted after them.
var (
	SumJobs  = "UPDATE jobs SET sum = " + rowSum("jobs", jobSummed)
	SumSends = "UPDATE sends SET sum = " + rowSum("sends", sendSummed)
)

// rowSum is SQL for the sum that a row should have.
func rowSum(table string, columns []string) string {
	return "row_sum(" + table + "." + strings.Join(columns, ", "+table+".") + ")"
}

// sumAs is the sum that a row of jobs (as j) would have if its device were another, a parameter.
var sumAs = strings.Replace(rowSum("j", jobSummed), "j.device", "?", 1)

func init() {
	sqlite.MustRegisterDeterministicScalarFunction("row_sum", -1, func(_ *sqlite.FunctionContext, args []driver.Value) (driver.Value, error) {
		return sumOf(args)
	})
}

// sumOf is the SHA-256 (FIPS 180-4), in lower-case hex, of the values, each as a letter for its type,
// its length in 8 bytes and its bytes; the numbers are in big-endian order. Steps of the ledger's tables
// rely on it, so it never changes.
func sumOf(values []driver.Value) (string, error) {
	var all []byte
	put := func(kind byte, text string) {
		all = append(all, kind)
		all = binary.BigEndian.AppendUint64(all, uint64(len(text)))
		all = append(all, text...)
	}
	number := func(n uint64) string { return string(binary.BigEndian.AppendUint64(nil, n)) }
	for _, v := range values {
		switch v := v.(type) {
		case nil:
			put('n', "")
		case int64:
			put('i', number(uint64(v)))
		case float64:
			put('f', number(math.Float64bits(v)))
		case string:
			put('t', v)
		case []byte:
			put('b', string(v))
		default:
			return "", fmt.Errorf("row_sum knows no value like %T", v)
		}
	}
	sum := sha256.Sum256(all)
	return hex.EncodeToString(sum[:]), nil
}

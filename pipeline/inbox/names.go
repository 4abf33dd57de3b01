package inbox

import (
	"fmt"
	"path/filepath"
	"strconv"
	"strings"
	"unicode/utf8"
)

// stem is a name without its ending, which a file and its ticket have in common.
func stem(name string) string { return strings.TrimSuffix(name, filepath.Ext(name)) }

// A claimed file keeps its name behind a prefix with the job's number; the prefix hides it.
const (
	claimPrefix = ".taken-"
	ticketMark  = "ticket-"
	// withMark begins with a dash since a draft of its own that is called with-... was claimed without before there were
	// named ones.
	withMark = "-with-"
	// nameLimit is the longest name in bytes that common file systems take.
	nameLimit = 255
)

// claimName is the name of a claimed file: .taken-17-skirt.svg, or .taken-17-ticket-... for its
// ticket. A name that would become too long is shortened, its ending kept.
func claimName(job int64, ticket bool, name string) string {
	mark := ""
	if ticket {
		mark = ticketMark
	}
	prefix := fmt.Sprintf("%s%d-%s", claimPrefix, job, mark)
	if !ticket && (strings.HasPrefix(name, ticketMark) || strings.HasPrefix(name, "-")) {
		// A file that is itself called ticket-... or -with-... must not read as one; parseClaim takes the dash off.
		name = "-" + name
	}
	return prefix + shorten(name, nameLimit-len(prefix))
}

// withClaim is the name of a claimed draft that a ticket names, .taken-17--with-lining.svg. It has room for the whole
// name: longer ones are none that a ticket may name.
func withClaim(job int64, name string) string {
	return fmt.Sprintf("%s%d-%s%s", claimPrefix, job, withMark, name)
}

// withName is the name of a draft that a ticket names and that is claimed under a name.
func withName(claim string) (job int64, name string, ok bool) {
	if job, ticket, _, ok := parseClaim(claim); ok && !ticket {
		_, rest, _ := strings.Cut(strings.TrimPrefix(claim, claimPrefix), "-")
		name, ok = strings.CutPrefix(rest, withMark)
		return job, name, ok && name != ""
	}
	return 0, "", false
}

// parseClaim reads a claimed name back.
func parseClaim(claim string) (job int64, ticket bool, name string, ok bool) {
	rest, found := strings.CutPrefix(claim, claimPrefix)
	if !found {
		return 0, false, "", false
	}
	number, name, found := strings.Cut(rest, "-")
	job, err := strconv.ParseInt(number, 10, 64)
	if !found || err != nil || job < 1 || name == "" {
		return 0, false, "", false
	}
	if t, isOne := strings.CutPrefix(name, ticketMark); isOne {
		return job, true, t, true
	}
	return job, false, strings.TrimPrefix(name, "-"), true
}

// shorten cuts the middle of a name out, between whole letters, until it has at most limit bytes.
func shorten(name string, limit int) string {
	if len(name) <= limit {
		return name
	}
	ext := filepath.Ext(name)
	if len(ext) > limit/2 {
		ext = ""
	}
	head := name[:limit-len(ext)]
	for len(head) > 0 && !utf8.ValidString(head) && utf8.ValidString(name) {
		head = head[:len(head)-1]
	}
	return head + ext
}

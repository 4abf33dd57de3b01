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

// A claimed file keeps its name after a prefix with the job's number, which hides it.
const (
	claimPrefix = ".taken-"
	ticketMark  = "ticket-"
	// withMark begins with a dash, because a draft called with-... was claimed without one before tickets could name
	// drafts.
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
		// A file that is called ticket-... or -with-... must not be read as one; parseClaim removes the dash.
		name = "-" + name
	}
	return prefix + shorten(name, nameLimit-len(prefix))
}

// withClaim is the name of a claimed draft that a ticket names, .taken-17--with-lining.svg. The whole name fits: a ticket
// may not name a longer one.
func withClaim(job int64, name string) string {
	return fmt.Sprintf("%s%d-%s%s", claimPrefix, job, withMark, name)
}

// withName gives the job and the name of a claimed draft that a ticket names; ok is false for another file.
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

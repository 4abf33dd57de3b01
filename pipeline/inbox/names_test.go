package inbox

import (
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"tracewheel/pipeline/pattern"
)

func TestLeftAlone(t *testing.T) {
	for _, name := range []string{"", ".hidden.svg", ".~lock.skirt.svg#", "~$skirt.dxf", "skirt.svg~", "#skirt.svg#", "4913",
		"skirt.svg.part", "skirt.svg.crdownload", "skirt.TMP", ".skirt.svg.swp", "skirt.svg.swp", "Thumbs.db", "desktop.ini", ".taken-3-skirt.svg"} {
		if !pattern.LeftAlone(name) {
			t.Errorf("%q is taken", name)
		}
	}
	for _, name := range []string{"skirt.svg", "~skirt.svg", "skirt (2).dxf", "skirt", "r#ck.svg", "skirt.ticket.yaml", "Röck.svg", "part.svg"} {
		if pattern.LeftAlone(name) {
			t.Errorf("%q is left alone", name)
		}
	}
}

// TestClaimNames: a claimed name gives number and name back, however odd the name, and never has
// more bytes than a file system takes (255 on ext4 and most others, see its statfs(2) f_namelen).
func TestClaimNames(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.StringMatching(`[^/\x00]{1,120}`).Draw(t, "name")
		job := rapid.Int64Range(1, 1<<62).Draw(t, "job")
		ticket := rapid.Bool().Draw(t, "ticket")
		claim := claimName(job, ticket, name)
		if len(claim) > nameLimit {
			t.Fatalf("%q has %d bytes", claim, len(claim))
		}
		if !pattern.LeftAlone(claim) {
			t.Fatalf("%q would be taken again", claim)
		}
		gotJob, gotTicket, got, ok := parseClaim(claim)
		if !ok || gotJob != job || gotTicket != ticket {
			t.Fatalf("%q reads as job %d, ticket %v, %v", claim, gotJob, gotTicket, ok)
		}
		if len(name) < 200 && got != name {
			t.Fatalf("%q came back as %q", name, got)
		}
		if utf8.ValidString(name) && !utf8.ValidString(got) {
			t.Fatalf("%q was cut within a letter: %q", name, got)
		}
	})
	if _, _, ok := withName(".taken-17-with-x.svg"); ok { // as a file of that name was claimed before tickets named drafts
		t.Error("a file that is called with-x.svg comes back as x.svg")
	}
	for _, name := range []string{"with-x.svg", "-with-x.svg", "--with-x.svg"} {
		if _, _, ok := withName(claimName(17, false, name)); ok {
			t.Errorf("%q reads as a draft that a ticket names", name)
		}
		if _, got, ok := withName(withClaim(17, name)); !ok || got != name {
			t.Errorf("%q came back as %q", name, got)
		}
	}
	for _, bad := range []string{"skirt.svg", ".taken-", ".taken-x-a", ".taken-0-a", ".taken-5-", ".taken-5"} {
		if _, _, _, ok := parseClaim(bad); ok {
			t.Errorf("%q reads as a claim", bad)
		}
	}
}

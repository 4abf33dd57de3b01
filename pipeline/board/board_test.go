package board

import (
	"strings"
	"testing"
)

// TestDraftName: what a browser calls a file becomes a plain name in one folder, or is refused.
func TestDraftName(t *testing.T) {
	for said, want := range map[string]string{
		"smock.yaml":                      "smock.yaml",
		`C:\drafts\Bodice.SVG`:            "Bodice.svg",
		"../../store/ledger.dxf":          "ledger.dxf",
		"/etc/passwd.svg":                 "passwd.svg",
		".hidden.svg":                     "hidden.svg",
		"a b\nc\x1b[31m.svg":              "a-b-c--31m.svg",
		"..svg":                           "draft.svg",
		strings.Repeat("a", 300) + ".dxf": strings.Repeat("a", 80) + ".dxf",
		"smock.ticket.yaml":               "smock-ticket.yaml",
	} {
		if got, err := draftName(said); err != nil || got != want {
			t.Errorf("%q becomes %q, not %q (%v)", said, got, want, err)
		}
	}
	for _, said := range []string{"", "smock", "smock.plt", "smock.svg/", "run.sh"} {
		if got, err := draftName(said); err == nil {
			t.Errorf("%q is taken as %q", said, got)
		}
	}
}

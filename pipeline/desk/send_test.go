package desk

import (
	"html"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tracewheel/pipeline/desk/folder"
)

// TestSendWithACardBeside: a draft whose card a job would not find is not sent to be refused there; who sends it hears what to
// do. From the folder of cards it goes, with whose it is in its ticket.
func TestSendWithACardBeside(t *testing.T) {
	v := visit(t)
	v.desk.o.Sends = true
	v.files(map[string]string{"drafts/sash.yaml": haleSash, "drafts/hale.yaml": "unit: cm\nmeasures: {waist: 75}\n"})
	device := v.room.DeviceNames()[0]
	inbox := filepath.Join(v.room.Path(v.room.Folders.Inbox), device)
	if err := os.MkdirAll(inbox, 0o700); err != nil {
		t.Fatal(err)
	}
	form := url.Values{"device": {device}, "body": {"hale"}}
	if status, page := v.post("/desk/draft/sash/send", form); status != 400 || !strings.Contains(html.UnescapeString(page), `the card "hale" is the file hale.yaml, and a device's job looks into the folder cards alone`) {
		t.Errorf("%d %s", status, page)
	}
	if all := folder.Names(inbox); len(all) > 0 {
		t.Errorf("sent all the same: %v", all)
	}
	if err := os.MkdirAll(v.room.Path("cards"), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.Rename(filepath.Join(v.drafts, "hale.yaml"), filepath.Join(v.room.Path("cards"), "hale.yaml")); err != nil {
		t.Fatal(err)
	}
	if status, page := v.post("/desk/draft/sash/send", form); status != 200 || !strings.Contains(page, "It lies in the device&#39;s folder") {
		t.Errorf("%d %s", status, page)
	}
	if text, err := os.ReadFile(filepath.Join(inbox, "sash.ticket.yaml")); err != nil {
		if text, err = os.ReadFile(filepath.Join(inbox, "sash.yaml.ticket.yaml")); err != nil || !strings.Contains(string(text), "hale") {
			t.Errorf("the ticket: %s %v", text, err)
		}
	} else if !strings.Contains(string(text), "hale") {
		t.Errorf("the ticket: %s", text)
	}
}

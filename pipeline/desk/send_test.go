package desk

import (
	"context"
	"html"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"tracewheel/pipeline/desk/folder"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
)

// someJobs are a daemon's jobs, as far as a page uses them.
type someJobs struct {
	all     []ledger.Job
	untaken []ledger.Untaken
	by      map[string]string
}

func (j *someJobs) Dropped(device, file, who string) { j.by[device+"/"+file] = who }
func (j *someJobs) Untaken() []ledger.Untaken        { return j.untaken }
func (j *someJobs) Jobs(_ context.Context, f ledger.Filter) ([]ledger.Job, error) {
	all := slices.Clone(j.all)
	if f.Newest {
		slices.Reverse(all)
	}
	return slices.DeleteFunc(all, func(o ledger.Job) bool { return o.ID <= f.Above || f.Device != "" && o.Device != f.Device }), nil
}

// sends gives a visitor a daemon that takes no files, and the folder of its first device.
func (v *visitor) sends() (jobs *someJobs, device, inbox string) {
	v.t.Helper()
	jobs = &someJobs{by: map[string]string{}}
	v.desk.o.Jobs = jobs
	device = v.room.DeviceNames()[0]
	inbox = filepath.Join(v.room.Path(v.room.Folders.Inbox), device)
	if err := os.MkdirAll(inbox, 0o700); err != nil {
		v.t.Fatal(err)
	}
	return jobs, device, inbox
}

// TestSendWithACardBeside: a draft whose card a job would not find is not sent; the page says what to do. With the
// card in the folder of cards it is sent, with the wearer in its ticket.
func TestSendWithACardBeside(t *testing.T) {
	v := visit(t)
	_, device, inbox := v.sends()
	v.files(map[string]string{"drafts/sash.yaml": haleSash, "drafts/hale.yaml": "unit: cm\nmeasures: {waist: 75}\n"})
	form := url.Values{"device": {device}, "say-body": {"hale"}, "drawn-for": {"hale"}}
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
	if status, page := v.post("/desk/draft/sash/send", form); status != 200 || !strings.Contains(page, "sash.yaml lies in the folder of "+device) {
		t.Errorf("%d %s", status, page)
	}
	if text := mustReadFile(t, filepath.Join(inbox, "sash.yaml.ticket.yaml")); !strings.Contains(text, "hale") {
		t.Errorf("the ticket: %s", text)
	}
}

// TestSendWithATicket: the ticket's fields are sent with the draft, and are read as any ticket; the page after it
// links to the resulting job, not to an earlier one of the same name, says its state, and why a file is not taken.
func TestSendWithATicket(t *testing.T) {
	v := visit(t)
	jobs, device, inbox := v.sends()
	const other = "other-device"
	jobs.all = []ledger.Job{{ID: 3, Device: device, File: "sash.yaml", State: ledger.Completed}}
	v.files(map[string]string{"drafts/sash.yaml": haleSash, "cards/hale.yaml": "unit: cm\nmeasures: {waist: 75}\n"})
	_, page := v.get("/desk/draft/sash")
	for _, field := range []string{`name="say-copies"`, `name="say-material"`, `name="say-production"`, `name="say-due"`, `name="say-note"`, `name="ticket"`, `name="say-body" value="hale"`} {
		if !strings.Contains(page, field) {
			t.Errorf("the page has no %s", field)
		}
	}
	v.post("/who", url.Values{"who": {"Nell"}})
	form := url.Values{"device": {device}, "drawn-for": {"hale"}, "say-body": {"hale"}, "say-copies": {"two"}, "say-production": {"Harbour lights: act 2"}, "say-wearer": {"Ottilie"}, "say-due": {"2026-12-14"}, "say-note": {"press first"}, "ticket": {"toile: true"}}
	status, page := v.post("/desk/draft/sash/send", form)
	if status != 400 || !strings.Contains(html.UnescapeString(page), `"two" is no number of copies`) || !strings.Contains(page, `value="Harbour lights: act 2"`) || !strings.Contains(page, ">toile: true</textarea>") {
		t.Errorf("a refused ticket: %d, or its fields are empty:\n%s", status, page)
	}
	if all, err := os.ReadDir(inbox); err != nil || len(all) > 0 {
		t.Fatalf("sent all the same: %v %v", all, err)
	}
	form.Set("say-copies", "2")
	status, page = v.post("/desk/draft/sash/send", form)
	if status != 200 || !strings.Contains(page, "is taken in a moment") || strings.Contains(page, "/job/3") {
		t.Errorf("sent: %d\n%s", status, page)
	}
	got, err := pattern.ReadTicket([]byte(mustReadFile(t, filepath.Join(inbox, "sash.yaml.ticket.yaml"))))
	if err != nil || got.Copies != 2 || got.Body != "hale" || got.Production != "Harbour lights: act 2" || got.Wearer != "Ottilie" || got.Due != "2026-12-14" || got.Note != "press first" || !got.Toile {
		t.Errorf("the ticket says %+v, %v", got, err)
	}
	if text := mustReadFile(t, filepath.Join(inbox, "sash.yaml")); text != haleSash || !strings.Contains(jobs.by[device+"/sash.yaml"], "Nell") {
		t.Errorf("the draft %q, by %v", text, jobs.by)
	}
	at := "/desk/draft/sash/sent?after=3&device=" + url.QueryEscape(device)
	jobs.untaken = []ledger.Untaken{{Device: device, File: "sash.yaml", Why: "it is still being written"}}
	if _, page = v.get(at); !strings.Contains(page, "is not taken: it is still being written") {
		t.Errorf("untaken:\n%s", page)
	}
	jobs.untaken, jobs.all = nil, append(jobs.all, ledger.Job{ID: 4, Device: other, File: "sash.yaml"}, ledger.Job{ID: 5, Device: device, File: "sash.yaml", State: ledger.Held})
	if _, page = v.get(at); !strings.Contains(page, `href="/job/5"`) || !strings.Contains(page, "<b>waiting for release</b>") || strings.Contains(page, "data-ended") {
		t.Errorf("the job:\n%s", page)
	}
	jobs.all[2].State = ledger.Aborted
	if _, page = v.get(at); !strings.Contains(page, "<b>refused</b>") || !strings.Contains(page, "data-ended") || !strings.Contains(page, "says why it was refused") {
		t.Errorf("the job when it has ended:\n%s", page)
	}
	// Chosen sizes count instead of the body that the page filled in.
	if err := os.Remove(filepath.Join(inbox, "sash.yaml")); err != nil {
		t.Fatal(err)
	}
	if err := os.Remove(filepath.Join(inbox, "sash.yaml.ticket.yaml")); err != nil {
		t.Fatal(err)
	}
	v.post("/desk/draft/sash/send", url.Values{"device": {device}, "drawn-for": {"hale"}, "say-body": {"hale"}, "say-sizes": {"A, B"}})
	if text := mustReadFile(t, filepath.Join(inbox, "sash.yaml.ticket.yaml")); text != `sizes: ["A","B"]`+"\n" {
		t.Errorf("with sizes the ticket is %q", text)
	}
}

// TestNothingToSendTo: without a daemon, without a device and with an unknown device nothing is written, and the page
// says which it is.
func TestNothingToSendTo(t *testing.T) {
	v := visit(t)
	v.files(map[string]string{"drafts/sash.yaml": haleSash})
	if _, page := v.get("/desk/draft/sash"); !strings.Contains(page, "No device is reached from here") || !strings.Contains(page, "tracewheel run") {
		t.Error("a desk that runs by itself does not say that it sends nothing")
	}
	if status, page := v.post("/desk/draft/sash/send", url.Values{"device": {v.room.DeviceNames()[0]}}); status != http.StatusBadRequest || !strings.Contains(page, "nothing was sent: this desk runs by itself") {
		t.Errorf("without a daemon: %d\n%s", status, page)
	}
	if _, err := os.Stat(v.room.Path(v.room.Folders.Inbox)); err == nil {
		t.Error("the inbox was made")
	}
	_, _, inbox := v.sends()
	for device, says := range map[string]string{"": "no device is named. Choose one of", "../store": `there is no device "../store"`} {
		if status, page := v.post("/desk/draft/sash/send", url.Values{"device": {device}}); status != http.StatusBadRequest || !strings.Contains(html.UnescapeString(page), says) {
			t.Errorf("%q: %d\n%s", device, status, page)
		}
	}
	if all, err := os.ReadDir(inbox); err != nil || len(all) > 0 {
		t.Errorf("%v %v", all, err)
	}
}

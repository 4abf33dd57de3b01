//go:build browser && linux

package pages_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"tracewheel/config/samples"
	"tracewheel/devices/pretend"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/remote"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
)

// lastMonth puts a job of a month ago into the store of a workroom's folder: job 1, a stagehand's apron.
func lastMonth(ctx context.Context, dir string) (err error) {
	st, err := store.Open(filepath.Join(dir, "store"), store.Disk{})
	if err != nil {
		return err
	}
	led, err := ledger.Open(ctx, st.LedgerPath(), func() time.Time { return time.Now().AddDate(0, -1, 0) })
	if err != nil {
		return errors.Join(err, st.Close())
	}
	defer func() { err = errors.Join(err, led.Close(), st.Close()) }()
	id := led.Reserve()
	kept, err := st.Save(id, "original.svg", bytes.NewReader(samples.Read("stagehand-apron.svg")))
	if err == nil {
		_, err = led.Enter(ctx, ledger.Arrival{ID: id, Device: "roll-plotter", File: "stagehand-apron.svg", Text: "taken",
			Files: []ledger.File{{Job: id, Name: kept.Name, Size: kept.Size, SHA256: kept.SHA256}}})
	}
	for _, state := range []ledger.State{ledger.Pending, ledger.Canceled} {
		if err == nil {
			_, err = led.Change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
				j.Style, j.State = "Stagehand apron", state
				return ledger.Step{Kind: string(state)}, nil
			})
		}
	}
	return err
}

// bodiless is a draft that asks whose measures count: it lists two bodies and says none.
func bodiless() []byte {
	return bytes.Replace(samples.Read("ferry-smock.yaml"), []byte("\nbody: A"), []byte("\n# body: A"), 1)
}

// tabTo presses Tab until a script, asked about what has the focus, gives true.
func (v visit) tabTo(script string) {
	v.t.Helper()
	for range 150 {
		if v.told("String(("+script+")(document.activeElement || document.documentElement))") == "true" {
			return
		}
		v.press(kb.Tab)
	}
	v.t.Fatalf("Tab never comes to %s; the page:\n%s", script, v.told("location.href + ' ' + document.activeElement.outerHTML.slice(0, 200) + document.body.innerText"))
}

// pressButton goes to a button by Tab and presses it; the page that was there gives way to another one.
func (v visit) pressButton(text string) {
	v.t.Helper()
	v.tabTo(fmt.Sprintf("e => e.tagName === 'BUTTON' && e.textContent === %q", text))
	v.act("window.before = true")
	v.press(kb.Enter)
	v.until("!window.before && document.readyState === 'complete'")
}

func (v visit) press(keys string) { v.t.Helper(); v.Do(chromedp.KeyEvent(keys)) }

// state is what a job's page says of how the job is.
const state = "document.querySelector('p.state').textContent"

// TestBoardByKeyboardInTheBrowser: no pointer is needed from the search for a job to its release and its end on the pretend
// cutter, to cancel another, to say whose measures count, to record a test square, to drop a draft, and to find a job of
// last month.
func TestBoardByKeyboardInTheBrowser(t *testing.T) {
	for _, width := range []int64{360, 1440} {
		t.Run(fmt.Sprint(width), func(t *testing.T) {
			pty, err := pretend.NewPty()
			if err != nil {
				t.Fatal(err)
			}
			cutter := pretend.NewCutter(pty, pretend.CutterOptions{Rate: 1500})
			t.Cleanup(cutter.Close)
			r := newShownWith(t, strings.NewReplacer("path: /dev/no-such-ttyACM0,", "path: "+cutter.Path()+","), nil,
				func(dir string) error { return lastMonth(t.Context(), dir) })
			for id := range int64(2) {
				r.drop("knife-table", fmt.Sprintf("leaf-crown-%d.svg", id+2), samples.Read("leaf-crown.svg"), "production: Harbour lights\nwearer: Ottilie\n")
				r.until(id+2, "made", made)
			}
			r.drop("roll-plotter", "smock.yaml", bodiless(), "")
			r.until(4, "asking", func(j ledger.Job) bool { return j.Asks != "" })
			v := openBoard(t, r, width, width == 360)

			v.press("?")
			v.until("document.querySelector('#keys').open")
			v.Sound(fmt.Sprintf("keys-%d", width))
			v.press(kb.Escape)
			v.press("/")
			v.until("document.activeElement.id === 'find'")
			v.act(`document.activeElement.value = ""`) // the driver sends the letter by itself, also where the page took the key
			v.press("crown" + kb.Enter)
			v.Until("2 jobs")
			v.tabTo(`e => e.getAttribute("href") === "/job/2"`)
			v.press(kb.Enter)
			v.Until("its jobs are released at the machine")
			v.pair(r)
			v.Until("Before the machine moves")
			v.tabTo(`e => e.name === "said"`)
			v.press(" ")
			v.pressButton("Release")
			v.act("window.same = true")
			v.until(`/[1-9]\d* % sent/.test(` + state + ` + document.querySelector("#live").textContent)`)
			v.Sound(fmt.Sprintf("running-by-keys-%d", width))
			r.until(2, "done", func(j ledger.Job) bool { return j.State == ledger.Completed })
			v.until("/^\\W*done/.test(" + state + ".trim())")
			if v.told("String(window.same)") != "true" {
				t.Error("the page was loaded anew to see the end")
			}

			v.Do(chromedp.Navigate(r.address + "/job/3"))
			v.pressButton("Cancel 3")
			v.until("/^\\W*canceled/.test(" + state + ".trim())")
			r.until(3, "canceled", func(j ledger.Job) bool { return j.State == ledger.Canceled })

			v.Do(chromedp.Navigate(r.address + "/job/4"))
			v.tabTo(`e => e.id === "body"`)
			v.press("B")
			v.until("document.activeElement.value === 'B'")
			v.pressButton("Answer")
			if j := r.until(4, "made", made); j.Answers["body"] != "B" {
				t.Errorf("answered is %v", j.Answers)
			}
			v.until(`!/asks/.test(` + state + `) && document.querySelector("#body") === null`)

			v.Do(chromedp.Navigate(r.address + "/device/roll-plotter"))
			v.tabTo(`e => e.id === "size"`)
			v.pressButton("Send for it")
			v.Until("test square 1 of roll-plotter")
			for side, read := range map[string]string{"bottom": "500.5", "right": "500", "top": "500.5", "left": "500", "rising": "707.5", "falling": "707.5"} {
				v.tabTo(`e => e.id === "r-1-` + side + `"`)
				v.press(read)
			}
			v.tabTo(`e => e.name === "yes"`)
			v.press(" ")
			v.pressButton("Record")
			v.Until("calibration 1 of roll-plotter is in force")

			file := filepath.Join(t.TempDir(), "leaf-crown.svg")
			if err := os.WriteFile(file, samples.Read("leaf-crown.svg"), 0o600); err != nil {
				t.Fatal(err)
			}
			v.Do(chromedp.Navigate(r.address + "/drop"))
			v.tabTo(`e => e.id === "device"`)
			v.press("k")
			v.until("document.activeElement.value === 'knife-table'")
			v.Do(chromedp.SetUploadFiles(chromedp.CSS("#draft"), []string{file})) // in a window of the browser that no test can open
			v.pressButton("Drop")
			v.Until("lies in the folder of knife-table")
			r.until(6, "made", made)

			v.find("style", "apron", 7)
			v.Until("No job matches")
			v.find("style", "apron", 33)
			v.Until("1 job")
			v.tabTo(`e => e.getAttribute("href") === "/job/1"`)
			v.press(kb.Enter)
			v.Until("1 · Stagehand apron")
			v.until("/^\\W*canceled/.test(" + state + ".trim())")
		})
	}
}

// pair types the code that the machine shows into the page of a cutter's job.
func (v visit) pair(r *shown) {
	v.t.Helper()
	client, err := remote.Dial(v.t.Context(), r.room.Path(r.room.Folders.Store))
	if err != nil {
		v.t.Fatal(err)
	}
	defer client.Close() //nolint:errcheck // only asked
	code, err := client.Page(v.t.Context(), control.PagePair, 0)
	if err != nil {
		v.t.Fatal(err)
	}
	v.tabTo(`e => e.tagName === "SUMMARY" && e.textContent === "Pair this page"`)
	v.press(kb.Enter)
	v.tabTo(`e => e.id === "pair"`)
	v.press(code)
	v.pressButton("Pair")
}

// find fills the form of past jobs in: a word in one field, and received in the last so many days.
func (v visit) find(field, word string, days int) {
	v.t.Helper()
	v.Do(chromedp.Navigate(v.address + "/past"))
	v.tabTo(fmt.Sprintf("e => e.id === %q", field))
	v.press(word)
	v.tabTo(`e => e.id === "since"`)
	since := time.Now().AddDate(0, 0, -days)
	v.press(since.Format("01022006")) // as a browser set to the English of the United States has it
	v.until(fmt.Sprintf("document.activeElement.value === %q", since.Format(time.DateOnly)))
	v.tabTo(`e => e.tagName === 'BUTTON' && e.closest("main") && e.textContent === "Find"`)
	v.press(kb.Enter)
	v.until(`location.search.includes("since=") && document.readyState === "complete"`)
}

package pages_test

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"net/http"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	_ "modernc.org/sqlite" // reached by the ledger's name for it

	"tracewheel/config/samples"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
)

// doneJob enters a job of an apron and writes it down as sent and done; more sets what its draft would say.
func doneJob(ctx context.Context, st *store.Store, led *ledger.Ledger, a ledger.Arrival, more func(*ledger.Job)) (id int64, err error) {
	a.ID, a.File = led.Reserve(), "stagehand-apron.svg"
	sum, err := st.Save(a.ID, "original.svg", bytes.NewReader(samples.Read(a.File)))
	if err == nil {
		a.Files = []ledger.File{{Job: a.ID, Name: sum.Name, Size: sum.Size, SHA256: sum.SHA256}}
		_, err = led.Enter(ctx, a)
	}
	for _, step := range []func(j *ledger.Job) ledger.Step{
		func(j *ledger.Job) ledger.Step {
			j.Ready, j.Style, j.Pieces = true, "Stagehand apron", 3
			more(j)
			return ledger.Step{Kind: "made", Pieces: []ledger.Piece{{Name: "panel", Quantity: 1}, {Name: "strap", Quantity: 2}}}
		},
		func(j *ledger.Job) ledger.Step {
			j.State = ledger.Processing
			return ledger.Step{Kind: "sending", Send: &ledger.Send{No: 1, Began: time.Now(), Updated: time.Now(), Sure: -1, Stroke: -1, Tool: "up"}}
		},
		func(j *ledger.Job) ledger.Step {
			j.State = ledger.Completed
			s := j.Send
			s.Ended, s.End = time.Now(), "done"
			return ledger.Step{Kind: "done", Send: &s}
		},
	} {
		if err == nil {
			_, err = led.Change(ctx, a.ID, func(j *ledger.Job) (ledger.Step, error) { return step(j), nil })
		}
	}
	return a.ID, err
}

// manyJobs gives a store a ledger of n jobs: one is written as the daemon writes it, the others are its rows. All but the
// newest of each device are done.
func manyJobs(ctx context.Context, dir string, n, waiting int) (err error) {
	st, err := store.Open(dir, store.Disk{})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	led, err := ledger.Open(ctx, st.LedgerPath(), nil)
	if err != nil {
		return err
	}
	first, err := doneJob(ctx, st, led, ledger.Arrival{Device: "roll-plotter", Text: "taken"}, func(j *ledger.Job) { j.Wearer = "crew" })
	if err = errors.Join(err, led.Close()); err != nil {
		return err
	}
	db, err := sql.Open("sqlite", st.LedgerPath()+"?_pragma=synchronous(OFF)")
	if err != nil {
		return err
	}
	db.SetMaxOpenConns(1)
	defer func() { err = errors.Join(err, db.Close()) }()
	for _, t := range []struct{ table, key string }{{"jobs", "id"}, {"events", "job"}, {"files", "job"}, {"sends", "job"}} {
		var names string
		if err := db.QueryRow("SELECT group_concat(name) FROM pragma_table_info(?) WHERE name NOT IN (?, 'seq')", t.table, t.key).Scan(&names); err != nil {
			return err
		}
		if _, err := db.Exec(fmt.Sprintf(`WITH RECURSIVE n (i) AS (VALUES (%d) UNION ALL SELECT i+1 FROM n WHERE i < %d)
			INSERT INTO %s (%s, %s) SELECT i, %s FROM n, %s WHERE %s = %d`, first+1, n, t.table, t.key, names, names, t.table, t.key, first)); err != nil {
			return err
		}
	}
	_, err = db.Exec(fmt.Sprintf(`UPDATE jobs SET device = 'knife-table' WHERE id %% 3 = 0;
		UPDATE jobs SET style = 'Cloak ' || id, wearer = 'chorus ' || (id %% 40) WHERE id %% 10 = 0;
		UPDATE jobs SET received = strftime('%%Y-%%m-%%dT%%H:%%M:%%S.000Z', 'now', '-' || (%d - id) || ' minutes');
		UPDATE jobs SET state = 'pending-held', ended = '', sends = 0, reason = 'held by a person' WHERE id > %d;
		DELETE FROM sends WHERE job > %d; UPDATE counter SET next = %d; %s; %s`, n, n-waiting, n-waiting, n+1, ledger.SumJobs, ledger.SumSends))
	return err
}

// BenchmarkPagesOf100000Jobs loads pages of a workroom of 100,000 jobs of which 60 wait, and tells the milliseconds on the wall and
// the kB of a page by itself and with its scripts and style, as a browser that was never there gets them.
func BenchmarkPagesOf100000Jobs(b *testing.B) {
	r := newShownWith(b, nil, nil, func(dir string) error { return manyJobs(b.Context(), filepath.Join(dir, "store"), 100_000, 60) })
	asset := regexp.MustCompile(`(?:src|href)="(/static/[^"]*)"`)
	size := func(path string) (n int64, text string) {
		b.Helper()
		req, err := http.NewRequestWithContext(b.Context(), http.MethodGet, r.address+path, nil)
		if err != nil {
			b.Fatal(err)
		}
		resp, err := r.browser.Do(req)
		if err != nil {
			b.Fatal(err)
		}
		defer resp.Body.Close() //nolint:errcheck // read whole
		all, err := io.ReadAll(resp.Body)
		if err != nil || resp.StatusCode != http.StatusOK {
			b.Fatalf("%s: %d %v", path, resp.StatusCode, err)
		}
		return int64(len(all)), string(all)
	}
	day := time.Now().Add(-24 * time.Hour).Format(time.DateOnly)
	for _, path := range []string{"/", "/job/99999", "/past", "/past?style=cloak", "/past?style=doublet", "/past?piece=hem", "/past?wearer=chorus+7", "/past?word=apron",
		"/past?since=" + day, "/past?due=2026-03-01", "/past?device=knife-table", "/device/knife-table"} {
		b.Run(strings.NewReplacer("/", "_", "?", "-", "=", "-").Replace(path), func(b *testing.B) {
			n, text := size(path)
			all := n
			for _, m := range asset.FindAllStringSubmatch(text, -1) {
				more, _ := size(m[1])
				all += more
			}
			for b.Loop() {
				size(path)
			}
			b.ReportMetric(float64(n)/1000, "kB")
			b.ReportMetric(float64(all)/1000, "kB-all")
			b.ReportMetric(b.Elapsed().Seconds()*1000/float64(b.N), "ms")
		})
	}
}

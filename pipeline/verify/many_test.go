package verify

import (
	"bytes"
	"context"
	"database/sql"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"tracewheel/config/samples"
	"tracewheel/devices"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
)

// manyJobs makes a store of n done jobs: one is written as the daemon writes it, the others are its
// rows and hard links to its files under other numbers (100,000 copies of the files would be 10 GB).
func manyJobs(t testing.TB, dir string, n int) {
	t.Helper()
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	st, err := store.Open(dir, store.Disk{})
	must(err)
	defer func() { must(st.Close()) }()
	ctx := context.Background()
	led, err := ledger.Open(ctx, st.LedgerPath(), nil)
	must(err)
	draft, err := fs.ReadFile(samples.Drafts(), "stagehand-apron.svg")
	must(err)
	program := devices.Program{Language: devices.HPGL2}
	for i := range 2000 {
		program.Blocks = append(program.Blocks, devices.Block{Bytes: fmt.Appendf(nil, "PD%d,%d;", i, 2*i), Stroke: i})
	}
	made, err := store.ProgramFiles(program)
	must(err)
	made = append(made, store.Named{Name: "findings.json", Data: []byte("[]")},
		store.Named{Name: "picture-lay.svg", Data: bytes.Repeat([]byte("<path d='M0 0'/>"), 1500)})
	first := led.Reserve()
	sum, err := st.Save(first, "original.svg", bytes.NewReader(draft))
	must(err)
	file := func(s store.Sum) ledger.File {
		return ledger.File{Job: first, Name: s.Name, Size: s.Size, SHA256: s.SHA256}
	}
	_, err = led.Enter(ctx, ledger.Arrival{ID: first, Device: "roll-plotter", File: "stagehand-apron.svg", Files: []ledger.File{file(sum)}, Text: "taken"})
	must(err)
	sums, err := st.SaveAll(first, made)
	must(err)
	for _, step := range []func(j *ledger.Job) ledger.Step{
		func(j *ledger.Job) ledger.Step {
			j.Ready, j.Style, j.Pieces = true, "Stagehand apron", 3
			s := ledger.Step{Kind: "made"}
			for _, sum := range sums {
				s.Files = append(s.Files, file(sum))
			}
			return s
		},
		func(j *ledger.Job) ledger.Step {
			j.State = ledger.Processing
			return ledger.Step{Kind: "sending", Send: &ledger.Send{No: 1, Began: time.Now(), Updated: time.Now(), Blocks: 2000, Sure: -1, Stroke: -1, Tool: "up"}}
		},
		func(j *ledger.Job) ledger.Step {
			j.State = ledger.Completed
			s := j.Send
			s.Ended, s.End, s.Sure = time.Now(), "done", 1999
			return ledger.Step{Kind: "done", Send: &s}
		},
	} {
		_, err = led.Change(ctx, first, func(j *ledger.Job) (ledger.Step, error) { return step(j), nil })
		must(err)
	}
	must(led.Close())
	db, err := sql.Open("sqlite", st.LedgerPath()+"?_pragma=synchronous(OFF)")
	must(err)
	db.SetMaxOpenConns(1)
	defer func() { must(db.Close()) }()
	for table, key := range map[string]string{"jobs": "id", "events": "job", "files": "job", "sends": "job"} {
		var names string
		must(db.QueryRow("SELECT group_concat(name) FROM pragma_table_info(?) WHERE name NOT IN (?, 'seq')", table, key).Scan(&names))
		_, err = db.Exec(fmt.Sprintf(`WITH RECURSIVE n (i) AS (VALUES (%d) UNION ALL SELECT i+1 FROM n WHERE i < %d)
			INSERT INTO %s (%s, %s) SELECT i, %s FROM n, %s WHERE %s = %d`, first+1, n, table, key, names, names, table, key, first))
		must(err)
	}
	_, err = db.Exec(fmt.Sprintf(`UPDATE jobs SET device = 'knife-table' WHERE id %% 3 = 0;
		UPDATE jobs SET style = 'Cloak ' || id WHERE id %% 10 = 0; UPDATE counter SET next = %d;
		UPDATE jobs SET received = strftime('%%Y-%%m-%%dT%%H:%%M:%%S.000Z', 'now', '-' || (%d - id) || ' minutes'); `, n+1, n) + ledger.SumJobs + "; " + ledger.SumSends)
	must(err)
	from := first
	for id := first + 1; id <= int64(n); id++ {
		if id%30_000 == 0 { // a file system allows 65,000 links or so
			must(os.CopyFS(st.JobDir(id), os.DirFS(st.JobDir(first))))
			from = id
			continue
		}
		must(os.Mkdir(st.JobDir(id), 0o755))
		for _, s := range append([]store.Sum{sum}, sums...) {
			must(os.Link(filepath.Join(st.JobDir(from), s.Name), filepath.Join(st.JobDir(id), s.Name)))
		}
	}
}

// jobsWanted is how many jobs a benchmark has: TRACEWHEEL_JOBS, else 100,000.
func jobsWanted(b *testing.B) int {
	text := os.Getenv("TRACEWHEEL_JOBS")
	if text == "" {
		return 100_000
	}
	n, err := strconv.Atoi(text)
	if err != nil {
		b.Fatal(err)
	}
	return n
}

// manyStore makes the store of a benchmark, or takes the one of TRACEWHEEL_STORE, which stays there to be
// looked at with the program itself.
func manyStore(b *testing.B) string {
	dir := os.Getenv("TRACEWHEEL_STORE")
	if dir == "" {
		dir = filepath.Join(b.TempDir(), "store")
	}
	if _, err := os.Stat(dir); err != nil {
		manyJobs(b, dir, jobsWanted(b))
	}
	return dir
}

// BenchmarkJobs lists the jobs of a ledger of 100,000 as `jobs` does.
func BenchmarkJobs(b *testing.B) {
	dir := manyStore(b)
	led, err := ledger.Look(b.Context(), store.LedgerPath(dir))
	if err != nil {
		b.Fatal(err)
	}
	defer led.Close()
	for name, f := range map[string]ledger.Filter{
		"newest": {}, "style": {Style: "cloak"}, "style-none": {Style: "doublet"}, "device": {Device: "knife-table"},
		"since": {Since: time.Now().Add(-time.Hour)}, "since-all": {Since: time.Now().Add(-1e6 * time.Hour)}, "device-none": {Device: "desk-plotter"},
		"stopped": {States: []ledger.State{ledger.Stopped, ledger.Processing}}, "unended": {Unended: true},
		"old": {EndedBefore: time.Now().Add(-1e4 * time.Hour), Whole: true},
	} {
		f.Newest, f.Limit = true, 100
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := led.Jobs(b.Context(), f); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkVerify checks a store of sound jobs; with damage every tenth lacks its draft.
func BenchmarkVerify(b *testing.B) {
	dir := manyStore(b)
	b.Run("sound", func(b *testing.B) {
		for b.Loop() {
			if problems := Verify(dir); len(problems) > 0 {
				b.Fatal(problems[0])
			}
		}
	})
	if os.Getenv("TRACEWHEEL_STORE") != "" {
		return
	}
	n := jobsWanted(b)
	for id := 10; id <= n; id += 10 {
		if err := os.Remove(filepath.Join(dir, "jobs", strconv.Itoa(id), "original.svg")); err != nil {
			b.Fatal(err)
		}
	}
	b.Run("damaged", func(b *testing.B) {
		for b.Loop() {
			if problems := Verify(dir); len(problems) != n/10 {
				b.Fatal(len(problems))
			}
		}
	})
}

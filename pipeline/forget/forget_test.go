package forget

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"go.uber.org/zap"

	"tracewheel/config"
	"tracewheel/config/samples"
	"tracewheel/pipeline"
	"tracewheel/pipeline/backup"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/logline"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/newroom"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/store"
	"tracewheel/pipeline/verify"
)

// What a workroom knows of the one who is forgotten: names, and measures that nobody else has.
var secrets = []string{"quayside-7", "Lady of the Quay", "bust: 97.31", "quay-smock"}

// workroom is one with a card, a job that was made for it and ended, one that was refused, one that waits, one by its
// wearer's name, one that was printed on sheets, and two of another person, the last on sheets; its daemon has stopped.
func workroom(t *testing.T) (room *config.Workroom, waits int64) {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "room")
	if _, err := newroom.Write(dir, making.Sample()); err != nil {
		t.Fatal(err)
	}
	write := func(name, text string) {
		t.Helper()
		file := filepath.Join(dir, name)
		if err := errors.Join(os.MkdirAll(filepath.Dir(file), 0o700), os.WriteFile(file, []byte(text), 0o600)); err != nil {
			t.Fatal(err)
		}
	}
	write("workroom.yaml", strings.NewReplacer("address: 127.0.0.1:7432", "address: none", "/dev/tty", "/dev/no-such-tty").Replace(string(config.SampleFile())))
	card, err := os.ReadFile(filepath.Join(dir, "cards", "chorus-4.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	text := strings.NewReplacer("chorus-4", "quayside-7", "chorus 4", "Lady of the Quay", "bust: 97", "bust: 97.31").Replace(string(card))
	write("cards/quayside-7.yaml", text)
	write("cards/.versions/quayside-7 20261003-101010.000.yaml", text)
	room, err = config.Load(filepath.Join(dir, "workroom.yaml"), pattern.RuleNames())
	if err != nil {
		t.Fatal(err)
	}
	log, end, err := logline.Open(room, bytes.NewBuffer(nil))
	if err != nil {
		t.Fatal(err)
	}
	defer end()
	shop, err := pipeline.New(t.Context(), room, log)
	if err == nil {
		err = shop.Start(t.Context())
	}
	if err != nil {
		t.Fatal(err)
	}
	n := int64(0)
	drop := func(device, file, ticket string, is func(ledger.Job) bool) {
		t.Helper()
		n++
		write("inbox/"+device+"/"+file+".ticket.yaml", ticket)
		write("inbox/"+device+"/"+file, string(samples.Read("ferry-smock.yaml")))
		for late := time.Now().Add(time.Minute); ; time.Sleep(20 * time.Millisecond) {
			j, err := shop.Jobs().Job(t.Context(), n)
			if err == nil && is(j) {
				return
			}
			if time.Now().After(late) {
				t.Fatalf("%s: %+v, %v", file, j, err)
			}
		}
	}
	made := func(j ledger.Job) bool { return j.Ready }
	drop("roll-plotter", "quay-smock.yaml", "body: quayside-7\n", made)
	drop("roll-plotter", "quay-smock.yaml", "body: quayside-7\nmaterial: none of ours\n", func(j ledger.Job) bool { return j.State == ledger.Aborted })
	drop("roll-plotter", "other.yaml", "body: chorus-4\n", made)
	drop("roll-plotter", "by-name.yaml", "body: A\nwearer: Lady of the Quay\n", made)
	for _, id := range []int64{1, 3, 4} {
		if err := shop.Jobs().Cancel(t.Context(), id); err != nil {
			t.Fatal(err)
		}
	}
	anew, _, err := shop.Jobs().AgainPieces(t.Context(), 1, "", "")
	if err != nil {
		t.Fatal(err)
	}
	n = anew
	printed := func(j ledger.Job) bool { return j.State == ledger.Completed }
	drop("office-printer", "quay-smock.yaml", "body: quayside-7\n", printed)
	drop("office-printer", "other.yaml", "body: chorus-4\n", printed)
	if err := shop.Stop(t.Context()); err != nil {
		t.Fatal(err)
	}
	write("made/.part-CUTSHORT-quay-smock-job6.pdf", "%PDF-")
	return room, anew
}

// cancel ends a job without a daemon.
func cancel(t *testing.T, room *config.Workroom, id int64) {
	t.Helper()
	led, err := ledger.Open(t.Context(), store.LedgerPath(room.Path(room.Folders.Store)), nil)
	if err != nil {
		t.Fatal(err)
	}
	_, err = led.Change(t.Context(), id, func(j *ledger.Job) (ledger.Step, error) {
		j.State, j.Reason = ledger.Canceled, "canceled by a person"
		return ledger.Step{Kind: "cancel", Text: j.Reason}, nil
	})
	if err = errors.Join(err, led.Close()); err != nil {
		t.Fatal(err)
	}
}

// found are the files of a workroom in which one of the secrets stands, or whose name has one.
func found(t *testing.T, room *config.Workroom) (files []string) {
	t.Helper()
	err := filepath.WalkDir(room.Dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || !d.Type().IsRegular() {
			return err
		}
		text, err := os.ReadFile(path)
		for _, s := range secrets {
			if strings.Contains(path, s) || bytes.Contains(text, []byte(s)) {
				files = append(files, path+": "+s)
			}
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return files
}

// TestForget: nothing of the person is found in any file of the workroom after it, other people's jobs stand as they
// were, and verify finds nothing amiss.
func TestForget(t *testing.T) {
	room, waits := workroom(t)
	copyTo := filepath.Join(t.TempDir(), "copy.tar")
	if _, err := backup.Take(t.Context(), backup.Room{File: room.File, Store: room.Path(room.Folders.Store), Cards: room.Path("cards")}, copyTo, time.Now()); err != nil {
		t.Fatal(err)
	}
	if _, err := Forget(t.Context(), room, "quayside-7"); !errors.Is(err, ErrUnended) || !strings.Contains(err.Error(), "job 5 is waiting") {
		t.Errorf("while a job waits: %v", err)
	}
	if _, err := os.Stat(store.ForgettingMark(room.Path(room.Folders.Store))); err == nil {
		t.Error("what was refused is marked as begun")
	}
	cancel(t, room, waits)
	before := found(t, room)
	for _, name := range []string{"quay-smock-job6.pdf", ".part-CUTSHORT-quay-smock-job6.pdf"} {
		if !slices.ContainsFunc(before, func(f string) bool { return strings.Contains(f, filepath.Join("made", name)) }) {
			t.Errorf("%s is not found before it", name)
		}
	}
	if len(before) < 12 {
		t.Errorf("the test has little to find: %q", before)
	}
	if jobs, err := Would(t.Context(), room, "quayside-7"); err != nil || !slices.Equal(jobs, []int64{1, 2, 4, 5, 6}) || len(found(t, room)) < 12 {
		t.Errorf("it would take %v, %v", jobs, err)
	}
	done, err := Forget(t.Context(), room, "quayside-7")
	if err != nil || !slices.Equal(done.Jobs, []int64{1, 2, 4, 5, 6}) {
		t.Fatalf("%+v, %v", done, err)
	}
	if len(done.Copies) != 1 || done.Copies[0].File != copyTo {
		t.Errorf("the copies: %+v", done.Copies)
	}
	left(t, room)
	if _, err := Forget(t.Context(), room, "quayside-7"); err == nil || !strings.Contains(err.Error(), "no measure card") {
		t.Errorf("once more: %v", err)
	}
	for _, name := range []string{"../cards/chorus-4", "", "."} {
		if _, err := Forget(t.Context(), room, name); err == nil {
			t.Errorf("%q is taken", name)
		}
	}
}

// left holds a workroom against what may be left of the forgotten one.
func left(t *testing.T, room *config.Workroom) {
	t.Helper()
	if after := found(t, room); len(after) > 0 {
		t.Errorf("still there: %q", after)
	}
	dir := room.Path(room.Folders.Store)
	if problems := verify.Verify(dir); len(problems) > 0 {
		t.Errorf("verify: %v", problems)
	}
	led, err := ledger.Look(t.Context(), store.LedgerPath(dir))
	if err != nil {
		t.Fatal(err)
	}
	defer led.Close()
	for id, state := range map[int64]ledger.State{1: ledger.Canceled, 2: ledger.Aborted, 4: ledger.Canceled, 5: ledger.Canceled, 6: ledger.Completed} {
		j, err := led.Job(t.Context(), id)
		device := map[bool]string{false: "roll-plotter", true: "office-printer"}[id == 6]
		if err != nil || j.State != state || j.File != "forgotten" || j.Device != device || j.Received.IsZero() || j.Ended.IsZero() {
			t.Errorf("%+v, %v", j, err)
		}
	}
	if j, err := led.Job(t.Context(), 3); err != nil || j.File != "other.yaml" || j.Style == "" {
		t.Errorf("another person's: %+v, %v", j, err)
	}
	if files, err := led.Files(t.Context(), 3); err != nil || len(files) < 4 {
		t.Errorf("another person's files: %+v, %v", files, err)
	}
	if made, err := filepath.Glob(filepath.Join(room.Dir, "made", "*")); err != nil || len(made) != 1 || filepath.Base(made[0]) != "other-job7.pdf" {
		t.Errorf("of the sheets are left %v, %v", made, err)
	}
	if _, err := os.Stat(filepath.Join(room.Dir, "cards", "chorus-4.yaml")); err != nil {
		t.Error(err)
	}
}

// TestForgetInTheMiddle: ended before any of its steps, as by a kill, it is not called done, verify says so, and said
// again it goes on to the end.
func TestForgetInTheMiddle(t *testing.T) {
	room, waits := workroom(t)
	cancel(t, room, waits)
	killed := errors.New("killed")
	steps := []string{"ledger", "files of jobs", "returned drafts", "sheets of printers", "log", "card", "freed pages of the ledger", "end"}
	for _, at := range steps {
		_, err := forget(t.Context(), room, "quayside-7", func(step string) error {
			if step == at {
				return killed
			}
			return nil
		})
		if !errors.Is(err, killed) {
			t.Fatalf("before %s: %v", at, err)
		}
		problems := verify.Verify(room.Path(room.Folders.Store))
		if !slices.ContainsFunc(problems, func(p verify.Problem) bool {
			return strings.Contains(p.Text, "a forgetting was begun") && strings.Contains(p.Mend, "--for-good")
		}) {
			t.Errorf("before %s verify says %v", at, problems)
		}
		if _, err := Forget(t.Context(), room, "chorus-4"); err == nil || !strings.Contains(err.Error(), "has not ended") {
			t.Errorf("another one begins: %v", err)
		}
	}
	if _, err := Forget(t.Context(), room, "quayside-7"); err != nil {
		t.Fatal(err)
	}
	left(t, room)
}

// TestForgetBesideADaemon: while one runs nothing is forgotten, and what would be is told, also where a job has not ended.
func TestForgetBesideADaemon(t *testing.T) {
	room, _ := workroom(t)
	shop, err := pipeline.New(t.Context(), room, zap.NewNop())
	if err == nil {
		err = shop.Start(t.Context())
	}
	if err != nil {
		t.Fatal(err)
	}
	defer shop.Stop(t.Context()) //nolint:errcheck // all was seen
	if _, err := Forget(t.Context(), room, "quayside-7"); !errors.Is(err, store.ErrInUse) || !strings.Contains(err.Error(), "stop the daemon first") {
		t.Errorf("%v", err)
	}
	if jobs, err := Would(t.Context(), room, "chorus-4.yaml"); err != nil || !slices.Equal(jobs, []int64{3, 7}) {
		t.Errorf("it would take %v, %v", jobs, err)
	}
	if jobs, err := Would(t.Context(), room, "quayside-7"); !errors.Is(err, ErrUnended) || !strings.Contains(err.Error(), "job 5 is ") || !slices.Equal(jobs, []int64{1, 2, 4, 5, 6}) {
		t.Errorf("while a job waits it would take %v, %v", jobs, err)
	}
}

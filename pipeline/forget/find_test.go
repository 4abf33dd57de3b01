package forget

import (
	"bytes"
	"errors"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"tracewheel/config"
	"tracewheel/pipeline/backup"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/newroom"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/store"
)

// quiet is a workroom in which no daemon ever ran, with files; jobs are entered as ended ones, with their files.
func quiet(t *testing.T, files map[string]string, jobs ...map[string]string) *config.Workroom {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "room")
	if _, err := newroom.Write(dir, making.Sample()); err != nil {
		t.Fatal(err)
	}
	room, err := config.Load(filepath.Join(dir, "workroom.yaml"), pattern.RuleNames())
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range files {
		put(t, filepath.Join(dir, name), text)
	}
	st, err := store.Open(room.Path(room.Folders.Store), store.Disk{})
	if err != nil {
		t.Fatal(err)
	}
	led, err := ledger.Open(t.Context(), st.LedgerPath(), nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, files := range jobs {
		if err := enter(t, st, led, files); err != nil {
			t.Fatal(err)
		}
	}
	if err := errors.Join(led.Close(), st.Close()); err != nil {
		t.Fatal(err)
	}
	return room
}

func put(t *testing.T, file, text string) {
	t.Helper()
	if err := errors.Join(os.MkdirAll(filepath.Dir(file), 0o700), os.WriteFile(file, []byte(text), 0o600)); err != nil {
		t.Fatal(err)
	}
}

// enter makes a job of files that was canceled; its draft is draft.yaml.
func enter(t *testing.T, st *store.Store, led *ledger.Ledger, files map[string]string) error {
	id := led.Reserve()
	var named []store.Named
	for name, text := range files {
		named = append(named, store.Named{Name: name, Data: []byte(text)})
	}
	slices.SortFunc(named, func(a, b store.Named) int { // the original first
		return strings.Compare(strings.Replace(a.Name, "draft", "\x00", 1), strings.Replace(b.Name, "draft", "\x00", 1))
	})
	if err := st.Begin(id); err != nil {
		return err
	}
	sums, err := st.SaveAll(id, named)
	if err != nil {
		return err
	}
	a := ledger.Arrival{ID: id, Device: "roll-plotter", File: "draft.yaml"}
	for _, s := range sums {
		a.Files = append(a.Files, ledger.File{Job: id, Name: s.Name, Size: s.Size, SHA256: s.SHA256})
	}
	if _, is := files["ticket.yaml"]; is {
		a.Ticket = "ticket.yaml"
	}
	_, err = led.Enter(t.Context(), a)
	if err == nil {
		err = st.Entered(id)
	}
	if err == nil {
		_, err = led.Change(t.Context(), id, func(j *ledger.Job) (ledger.Step, error) {
			j.State, j.Reason = ledger.Canceled, "canceled by a person"
			return ledger.Step{Kind: "cancel", Text: j.Reason}, nil
		})
	}
	return err
}

// TestForgetTheNeighbour: of a card whose name is another's with a blank and a number behind it nothing goes with the other.
func TestForgetTheNeighbour(t *testing.T) {
	const at = " 20261003-101010.000.yaml"
	theirs := []string{"chorus 2.yaml", "chorus 20261003.yaml", "chorus-2.yaml", ".versions/chorus 2" + at, ".versions/chorus 2 2" + at, ".versions/chorus 2026.yaml", ".versions/my chorus" + at}
	own := []string{"chorus.yaml", ".versions/chorus" + at, ".versions/.part-chorus" + at, ".part-chorus.yaml"}
	files := map[string]string{}
	for _, name := range slices.Concat(theirs, own) {
		files["cards/"+name] = "measures:\n  bust: 97\n"
	}
	room := quiet(t, files,
		map[string]string{"draft.yaml": "style: smock\n", "ticket.yaml": "body: chorus 2\n", "card-chorus 2": "measures: {}\n"},
		map[string]string{"draft.yaml": "style: smock\n", "ticket.yaml": "body: chorus\n", "card-chorus": "measures: {}\n"},
		map[string]string{"draft.yaml": "style: smock\nbody: chorus 2\n"})
	done, err := Forget(t.Context(), room, "chorus")
	if err != nil || !slices.Equal(done.Jobs, []int64{2}) {
		t.Fatalf("%+v, %v", done, err)
	}
	for _, name := range theirs {
		if _, err := os.Stat(filepath.Join(room.Dir, "cards", name)); err != nil {
			t.Errorf("another's: %v", err)
		}
	}
	for _, name := range own {
		if _, err := os.Stat(filepath.Join(room.Dir, "cards", name)); err == nil {
			t.Errorf("%s is left", name)
		}
	}
	for _, id := range []int64{1, 3} {
		if _, err := store.Look(room.Path(room.Folders.Store)).Read(id, "draft.yaml"); err != nil {
			t.Errorf("another's job %d: %v", id, err)
		}
	}
}

// TestForgetReadsTickets: a text names the card or its wearer however YAML writes that, and also where a slip makes it no
// YAML (https://yaml.org/spec/1.2.2/, chapters 7 and 8: quoted keys, flow mappings, folded scalars, aliases). What only
// looks like it names nobody.
func TestForgetReadsTickets(t *testing.T) {
	card := map[string]string{"cards/quayside-7.yaml": "\"wearer\" : 'Lady of the Quay'\nmeasures:\n  bust: 97\n"}
	texts := map[string]bool{
		"wearer: Lady of the Quay\n":                                                  true,
		"copies: 1\nwearer: \"lady of  the Quay\" # Friday\n":                         true,
		"{copies: 1, 'wearer': Lady of the Quay}\n":                                   true,
		"wearer: >-\n  Lady of\n  the Quay\n":                                         true,
		"note: &w Lady of the Quay\nwearer: *w\n":                                     true,
		"? wearer\n: Lady of the Quay\n":                                              true,
		"body: quayside-7.yaml\n":                                                     true,
		"sizes: [chorus-4, quayside-7]\n":                                             true,
		"bodies: [chorus-4, quayside-7]\n":                                            true,
		"with: [a.svg, {file: b.yaml, body: quayside-7}]\n":                           true,
		"with: [quayside-7]\n":                                                        false,
		"sizes: chorus-4, quayside-7\n":                                               true,
		"\"card\": \"quayside-7\"\nstyle: x\n":                                        true,
		"copies: [1\nwearer: Lady of the Quay\n":                                      true, // no YAML
		"copies: [1\nbody: 'quayside-7' # no YAML\n":                                  true,
		"copies: [1\nwith:\n  - body: quayside-7\n":                                   true,
		"copies: [1\nwith:\n  - {file: b.yaml, body: quayside-7, copies: 2}\n":        true,
		"copies: [1\nwith: [a.svg, {file: b.yaml, bodies: [chorus-4, quayside-7]}]\n": true,
		"copies: [1\nbodies:\n  - chorus-4\n  - quayside-7 # too\nnote: n\n":          true,
		"copies: [1\nbodies: [chorus-4,\n  quayside-7]\n":                             true,
		"copies: [1\nwith: [{file: b.yaml, body: chorus-4}]\nnote: quayside-7\n":      false,
		"copies: [1\nbody: chorus-4\nquayside-7\n":                                    false,
		"wearer: Lady of the Quay the Second\n":                                       false,
		"body: quayside-77\n":                                                         false,
		"body: my quayside-7\n":                                                       false,
		"note: |\n  body: quayside-7\n":                                               false,
		"note: the body: quayside-7\n":                                                false,
		"nobody: quayside-7\n":                                                        false,
	}
	said := slices.Sorted(maps.Keys(texts))
	var jobs []map[string]string
	var want []int64
	for i, text := range said {
		jobs = append(jobs, map[string]string{"draft.yaml": "style: smock\n", "ticket.yaml": text})
		if texts[text] {
			want = append(want, int64(i+1))
		}
	}
	jobs = append(jobs, map[string]string{"draft.yaml": "style: smock\n", "ticket.yaml": "with: [apron.yaml]\n", "with-apron.yaml": "style: apron\ncard: quayside-7\n"})
	want = append(want, int64(len(jobs)))
	room := quiet(t, card, jobs...)
	if got, err := Would(t.Context(), room, "quayside-7"); err != nil || !slices.Equal(got, want) {
		t.Errorf("of the jobs with %q it takes %v, want %v: %v", said, got, want, err)
	}
	for _, text := range said {
		put(t, filepath.Join(room.Path(room.Folders.Inbox), "roll-plotter", "smock.ticket.yaml"), text)
		got, err := Would(t.Context(), room, "quayside-7")
		if is := texts[text]; errors.Is(err, ErrUnended) != is || is && !strings.Contains(err.Error(), "smock.ticket.yaml is in the inbox") || !slices.Equal(got, want) {
			t.Errorf("in the inbox, %q: %v, %v; want it named: %v", text, got, err, is)
		}
	}
}

// TestForgetOneOfTwoCards: of two cards with one wearer's name, what names or keeps the other stays; what names the wearer
// only goes, also where a card that is named is not there.
func TestForgetOneOfTwoCards(t *testing.T) {
	const wearer = "wearer: Lady of the Quay\n"
	cards := map[string]string{"cards/winter.yaml": wearer + "measures:\n  bust: 97\n", "cards/summer.yaml": "wearer: lady of the quay\nmeasures:\n  bust: 95\n"}
	room := quiet(t, cards,
		map[string]string{"draft.yaml": "style: smock\n", "ticket.yaml": wearer, "card-summer": cards["cards/summer.yaml"]},
		map[string]string{"draft.yaml": "style: smock\ncard: summer.yaml\n", "ticket.yaml": wearer},
		map[string]string{"draft.yaml": "style: smock\n", "ticket.yaml": wearer + "body: summer\n"},
		map[string]string{"draft.yaml": "style: smock\n", "ticket.yaml": wearer},
		map[string]string{"draft.yaml": "style: smock\n", "ticket.yaml": wearer + "body: spring\n"},
		map[string]string{"draft.yaml": "bodies: {summer: {bust: 90}}\nbody: summer\n", "ticket.yaml": wearer},
		map[string]string{"draft.yaml": "style: smock\n", "ticket.yaml": wearer, "card-winter": cards["cards/winter.yaml"]},
		map[string]string{"draft.yaml": "sizes: [summer, winter]\n", "ticket.yaml": wearer})
	ticket := filepath.Join(room.Path(room.Folders.Inbox), "roll-plotter", "smock.ticket.yaml")
	put(t, ticket, wearer+"body: summer\n")
	want := []int64{4, 5, 6, 7, 8}
	if got, err := Would(t.Context(), room, "winter"); err != nil || !slices.Equal(got, want) {
		t.Errorf("it takes %v, want %v: %v", got, want, err)
	}
	put(t, ticket, wearer)
	if _, err := Would(t.Context(), room, "winter"); !errors.Is(err, ErrUnended) {
		t.Errorf("the wearer is in the inbox, and it says %v", err)
	}
}

// TestForgetLines: of the log go the lines of the card's jobs, and of those of no job the ones that name card, wearer or
// draft; those that hold a longer name, or the card's as a word of a sentence, are another's.
func TestForgetLines(t *testing.T) {
	f := &forgetting{mark: mark{Card: "cloth", Jobs: []int64{5}, Files: []string{"smock.yaml"}, Wearers: []string{"cloth", "Ann"}}}
	for line, is := range map[string]bool{
		`{"msg":"taken","job":5,"file":"x.yaml"}`:                                         true,
		`{"msg":"taken","file":"smock.yaml"}`:                                             true,
		`{"msg":"no such card","card":"cloth"}`:                                           true,
		`{"msg":"who","of":{"names":["Ben","Ann"]}}`:                                      true,
		`{"msg":"there is no card \"cloth\""}`:                                            true,
		`{"msg":"x","error":"open /room/cards/cloth.yaml: no such file"}`:                 true,
		`{"msg":"x","error":"open /room/cards/cloth: no such file"}`:                      true,
		`{"msg":"smock.yaml: it is not whole yet"}`:                                       true,
		`{"msg":"the drop smock.yaml waits"}`:                                             true,
		`{"msg":"taken","job":5,"fi`:                                                      true,
		`{"msg":"not whole","file":"smock.yaml","wh`:                                      true,
		`{"msg":"taken","job":6,"file":"smock.yaml","card":"cloth"}`:                      false,
		`{"msg":"no cloth is known","file":"skirt.yaml"}`:                                 false,
		`{"msg":"cloth: 150 cm"}`:                                                         false,
		`{"msg":"Ann, Ben and others","stage":"cloth","device":"cloth"}`:                  false,
		`{"msg":"taken","file":"cloth 2.yaml"}`:                                           false,
		`{"msg":"taken","file":"my-smock.yaml"}`:                                          false,
		`{"msg":"taken","file":"smock.yaml.svg"}`:                                         false,
		`{"msg":"there is no card \"cloth 2\""}`:                                          false,
		`{"msg":"x","error":"open /room/cloth/inbox/skirt.svg: permission denied"}`:       false,
		`{"msg":"x","error":"open /room/cards/tablecloth.yaml: no such file","jobs":"5"}`: false,
		`{"msg":"taken","job":55,"fi`:                                                     false,
		"":                                                                                false,
	} {
		if got := f.tells([]byte(line + "\n")); got != is {
			t.Errorf("%s goes: %v, want %v", line, got, is)
		}
	}
}

// TestForgetAllOfAJob: the lay, the drafts from which the job's draft takes, its labels and sheets go with the job, also
// where one was set aside; of what stays, a person is told.
func TestForgetAllOfAJob(t *testing.T) {
	const secret = "97.3137"
	room := quiet(t, map[string]string{
		"cards/quayside-7.yaml":         "wearer: Lady of the Quay\nmeasures:\n  bust: 97.3137\n",
		"made/quay-smock-job1.pdf":      secret,
		"made/quay-smock-job1/a.pdf":    secret,
		"returned/quay-smock-job1/a":    secret,
		"store/stray/1-draft.yaml":      secret,
		"drafts/own.yaml":               "style: x\nbodies:\n  quayside-7:\n    bust: 1\n",
		"drafts/hers.yaml":              "style: x\n\"wearer\": Lady of the Quay\n",
		"drafts/another.yaml":           "style: x\nwearer: Lady\nnote: quayside-7\n",
		"store/stray/ledger-1/x.db":     "old",
		"returned/quay-smock-job11/a":   "another's",
		"made/quay-smock-job1 copy.pdf": "no name that the program gives",
	}, map[string]string{"draft.yaml": "style: smock\nfrom: bodice-block\n", "block-bodice-block": "bodies: {a: {bust: 97.3137}}\n", "card-quayside-7": "bust: 97.3137\n",
		"lay-abababab.json": `{"for": "97.3137"}`, "labels.pdf": secret, "picture.svg": secret})
	led, err := ledger.Open(t.Context(), store.LedgerPath(room.Path(room.Folders.Store)), nil)
	if err != nil {
		t.Fatal(err)
	}
	_, err = led.Change(t.Context(), 1, func(j *ledger.Job) (ledger.Step, error) {
		j.Lay, j.Fixed = strings.Repeat("ab", 32), true
		return ledger.Step{Kind: "lay", Text: secret}, nil
	})
	if err = errors.Join(err, led.Close()); err != nil {
		t.Fatal(err)
	}
	done, err := Forget(t.Context(), room, "quayside-7")
	if err != nil || !slices.Equal(done.Jobs, []int64{1}) {
		t.Fatalf("%+v, %v", done, err)
	}
	var told []string
	for _, d := range slices.Concat(done.Drafts, done.Ledgers) {
		rel, err := filepath.Rel(room.Dir, d)
		if err != nil {
			t.Fatal(err)
		}
		told = append(told, filepath.ToSlash(rel))
	}
	if want := []string{"drafts/hers.yaml", "drafts/own.yaml", "store/stray/ledger-1"}; !slices.Equal(told, want) {
		t.Errorf("told what stays: %q, want %q", told, want)
	}
	for _, s := range append(slices.Clone(secrets), secret, strings.Repeat("ab", 16)) {
		for _, file := range holding(t, room, s) {
			if !slices.Contains(told, file) && file != "drafts/another.yaml" {
				t.Errorf("%q is left in %s", s, file)
			}
		}
	}
	for _, name := range []string{"returned/quay-smock-job11/a", "made/quay-smock-job1 copy.pdf"} {
		if _, err := os.Stat(filepath.Join(room.Dir, name)); err != nil {
			t.Errorf("another's: %v", err)
		}
	}
}

// TestTell: what a person is told goes to a terminal, so nothing of a name or a path acts on it; escapes show what stands
// there, and a name with a blank is quoted as a shell takes it.
func TestTell(t *testing.T) {
	var out strings.Builder
	at := time.Date(2026, 11, 29, 20, 0, 0, 0, time.Local)
	Done{Jobs: []int64{4}, Drafts: []string{"/d/a\rb.yaml"}, Copies: []backup.Noted{{File: "/m/\x1b[2J.tar", At: at}, {File: "/m/monday.tar", At: at}}, Unread: 2}.Tell(&out, "chorus 2")
	Tell(&out, "chorus 2", nil, true)
	if strings.ContainsAny(out.String(), "\r\x1b") {
		t.Errorf("a control character is printed: %q", out.String())
	}
	for _, want := range []string{"\"chorus 2\" is forgotten: job 4\n", `the draft "/d/a\rb.yaml" names`, `hold it still: "/m/\x1b[2J.tar"`, "hold it still: /m/monday.tar\n", "2 lines in the list of copies cannot be read", `tracewheel forget "chorus 2" --for-good`} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("%s\nis said, and not %s", out.String(), want)
		}
	}
}

// holding are the files of a workroom in which a text stands.
func holding(t *testing.T, room *config.Workroom, what string) (files []string) {
	t.Helper()
	err := filepath.WalkDir(room.Dir, func(path string, d os.DirEntry, err error) error {
		if err != nil || !d.Type().IsRegular() {
			return err
		}
		text, err := os.ReadFile(path)
		rel, rerr := filepath.Rel(room.Dir, path)
		if bytes.Contains(text, []byte(what)) {
			files = append(files, filepath.ToSlash(rel))
		}
		return errors.Join(err, rerr)
	})
	if err != nil {
		t.Fatal(err)
	}
	return files
}

// TestJobsSaid: one job is told by its number, and several as numbers of jobs.
func TestJobsSaid(t *testing.T) {
	for want, jobs := range map[string][]int64{"no job was made for it": nil, "job 2": {2}, "jobs 2 and 5": {2, 5}, "jobs 2, 5 and 7": {2, 5, 7}} {
		if got := jobsSaid(jobs); got != want {
			t.Errorf("%v: %q", jobs, got)
		}
	}
}

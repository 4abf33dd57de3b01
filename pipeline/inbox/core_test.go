package inbox

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"
)

// TestStories plays the stories in testdata/stories: what was seen in the folder at which
// millisecond, and what is to be taken then. A line is
//
//	settle MS / limit MS           the two clocks
//	MS see NAME SIZE [MOD]         a look at a file; MOD is its time in ms, as before if left out
//	MS wrote NAME SIZE [MOD]       an event told of writing
//	MS names TICKET SIZE NAME ...  a look at a ticket that names drafts beside its own
//	MS held [NAME by TICKET]       what waits for the draft of a ticket that is not there
//	MS gone NAME                   it is no longer there
//	MS folder NAME:SIZE:MOD ...    a look at the whole folder
//	MS back NAME                   its taking failed
//	MS open NAME                   another program has it open for writing
//	MS unsure NAME                 nobody tells whether one has
//	MS nothing                     nothing is to be taken
//	MS take NAME [with TICKET] [on trial]
//	MS next MS                     when the next look is due
//	MS lone TICKET                 a ticket has waited too long for its file
func TestStories(t *testing.T) {
	files, err := filepath.Glob("testdata/stories/*.txt")
	if err != nil || len(files) < 8 {
		t.Fatalf("%d stories, %v", len(files), err)
	}
	for _, file := range files {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".txt"), func(t *testing.T) {
			text, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			s := &story{t: t, core: newCore(Settings{Settle: 750 * time.Millisecond, Limit: 10 * time.Second, Unsure: 3 * time.Second}), seen: map[string]Entry{}}
			for i, line := range strings.Split(string(text), "\n") {
				if line = strings.TrimSpace(line); line != "" && !strings.HasPrefix(line, "#") {
					s.where = fmt.Sprintf("line %d (%s)", i+1, line)
					s.line(strings.Fields(line))
				}
			}
			s.noMore()
		})
	}
}

type story struct {
	t     *testing.T
	core  *core
	seen  map[string]Entry
	where string
	at    time.Time
	due   []string // decided and not yet told by the story
}

var storyStart = time.Date(2026, 11, 1, 8, 0, 0, 0, time.UTC)

func (s *story) ms(word string) time.Time {
	n, err := strconv.Atoi(word)
	if err != nil {
		s.t.Fatalf("%s: %q is no number of milliseconds", s.where, word)
	}
	return storyStart.Add(time.Duration(n) * time.Millisecond)
}

func (s *story) line(w []string) {
	if w[0] == "settle" {
		clocks := s.core.clocks
		clocks.Settle = s.ms(w[1]).Sub(storyStart)
		s.core.set(clocks)
		return
	}
	if w[0] == "limit" {
		clocks := s.core.clocks
		clocks.Limit = s.ms(w[1]).Sub(storyStart)
		s.core.set(clocks)
		return
	}
	if at := s.ms(w[0]); !at.Equal(s.at) {
		s.noMore()
		s.at = at
	}
	switch w[1] {
	case "see", "wrote":
		s.core.saw(s.at, "d", s.entry(w[2:]), w[1] == "wrote")
	case "names":
		e := s.entry(w[2:4])
		e.With = w[4:]
		s.core.saw(s.at, "d", e, false)
	case "held":
		var held []string
		for _, h := range s.core.held() {
			held = append(held, h.Entry.Name+" by "+h.Ticket)
		}
		if got := strings.Join(held, " "); got != strings.Join(w[2:], " ") {
			s.t.Fatalf("%s: held are %q", s.where, got)
		}
	case "gone":
		s.core.gone("d", w[2])
	case "back":
		s.core.back(s.at, "d", w[2])
	case "open":
		s.core.open(s.at, "d", w[2])
	case "unsure":
		s.core.unsure("d", w[2])
	case "folder":
		var all []Entry
		for _, f := range w[2:] {
			all = append(all, s.entry(strings.Split(f, ":")))
		}
		s.core.look(s.at, "d", all)
	case "nothing":
		s.decide()
		s.noMore()
	case "take":
		s.decide()
		want := strings.Join(w[2:], " ")
		if len(s.due) == 0 || s.due[0] != want {
			s.t.Fatalf("%s: decided %q", s.where, s.due)
		}
		s.due = s.due[1:]
	case "next":
		if _, next := s.core.due(s.at); !next.Equal(s.ms(w[2])) {
			s.t.Fatalf("%s: it is due after %s", s.where, next.Sub(storyStart))
		}
	case "lone":
		_, lone := s.core.lone(s.at)
		if len(lone) != 1 || lone[0].Entry.Name != w[2] {
			s.t.Fatalf("%s: lone are %v", s.where, lone)
		}
	default:
		s.t.Fatalf("%s: no such word", s.where)
	}
}

func (s *story) entry(w []string) Entry {
	e := s.seen[w[0]]
	e.Name = w[0]
	size, err := strconv.ParseInt(w[1], 10, 64)
	if err != nil {
		s.t.Fatalf("%s: %v", s.where, err)
	}
	e.Size = size
	if len(w) > 2 {
		e.Mod = s.ms(w[2])
	}
	s.seen[w[0]] = e
	return e
}

func (s *story) decide() {
	takes, _ := s.core.due(s.at)
	for _, take := range takes {
		text := take.Entry.Name
		if take.Ticket != "" {
			text += " with " + take.Ticket
		}
		if take.Trial {
			text += " on trial"
		}
		s.due = append(s.due, text)
	}
}

func (s *story) noMore() {
	if len(s.due) > 0 {
		s.t.Fatalf("%s: decided also %q", s.where, s.due)
	}
}

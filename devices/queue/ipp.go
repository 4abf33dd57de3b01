package queue

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os/user"
	"slices"
	"strings"
	"unicode"
)

// The questions and their form, by RFC 8010 (encoding) and RFC 8011 (operations, tags).
const (
	getJobAttributes     = 0x0009
	getJobs              = 0x000A
	getPrinterAttributes = 0x000B
	groupOperation       = 0x01
	groupJob             = 0x02
	groupEnd             = 0x03
	tagInteger           = 0x21
	tagEnum              = 0x23
	tagName              = 0x42
	tagKeyword           = 0x44
	tagURI               = 0x45
	tagCharset           = 0x47
	tagLanguage          = 0x48
	printerStopped       = 5
	statusNotFound       = 0x0406
	largestAnswer        = 4 << 20 // bytes: the history of some ten thousand jobs; CUPS keeps 500
	mostGroups           = 30_000  // things in one answer
	longestWords         = 300     // runes of what a printer or a program says
)

// group is what an answer says of one thing: values by attribute.
type group struct {
	tag   byte
	texts map[string][]string
	ints  map[string]int
}

var (
	jobAttributes = []string{"job-id", "job-name", "job-state", "job-printer-state-message"}
	errNotFound   = errors.New("the print system does not know of it")
)

// Jobs are the queue's jobs, those that have ended as well, as long as it remembers them.
func (q *Queue) Jobs(ctx context.Context) ([]Job, error) {
	all, err := q.ask(ctx, question{operation: getJobs, wanted: jobAttributes, which: "all"})
	if err != nil {
		return nil, q.unlessKnown(err)
	}
	return jobsOf(all)
}

// Job gives one job of the queue; the bool is false where the queue does not know it.
func (q *Queue) Job(ctx context.Context, id int) (Job, bool, error) {
	all, err := q.ask(ctx, question{operation: getJobAttributes, wanted: jobAttributes, job: id})
	if errors.Is(err, errNotFound) { // the job, or the queue itself
		_, err = q.Printer(ctx)
		return Job{}, false, err
	}
	if err != nil {
		return Job{}, false, err
	}
	jobs, err := jobsOf(all)
	if err == nil && (len(jobs) != 1 || jobs[0].ID != id) {
		err = fmt.Errorf("the print system was asked of job %d and does not tell of it alone", id)
	}
	if err != nil {
		return Job{}, false, err
	}
	return jobs[0], true, nil
}

// jobsOf refuses a job without its number or its state, because it could be taken for a missing one.
func jobsOf(all []group) (out []Job, err error) {
	for _, g := range all {
		if g.tag != groupJob {
			continue
		}
		j := Job{ID: g.ints["job-id"], Title: strings.Join(g.texts["job-name"], ""), State: JobState(g.ints["job-state"]), Says: words(g.texts["job-printer-state-message"], "; ")}
		if j.ID < 1 || j.State < Pending || j.State > Completed {
			return nil, fmt.Errorf("the print system tells of a job %d in state %d, which are no job's (RFC 8011, 5.3)", j.ID, int(j.State))
		}
		out = append(out, j)
	}
	return out, nil
}

// Printer asks for the state of the printer.
func (q *Queue) Printer(ctx context.Context) (Printer, error) {
	all, err := q.ask(ctx, question{operation: getPrinterAttributes, wanted: []string{"printer-state", "printer-state-message", "printer-state-reasons", "media-supported"}})
	if err != nil {
		return Printer{}, q.unlessKnown(err)
	}
	var p Printer
	for _, g := range all {
		if s, ok := g.ints["printer-state"]; ok {
			reasons := slices.DeleteFunc(append(g.texts["printer-state-message"], g.texts["printer-state-reasons"]...), func(s string) bool { return s == "" || s == "none" })
			p = Printer{Stopped: s == printerStopped, Says: words(reasons, ", "), Media: g.texts["media-supported"]}
		}
	}
	return p, nil
}

// unlessKnown names the queue in the error where the print system does not know it.
func (q *Queue) unlessKnown(err error) error {
	if errors.Is(err, errNotFound) {
		return fmt.Errorf("the print system has no queue %q; `lpstat -e` lists its queues", q.Name)
	}
	return err
}

// words joins what a printer or a program says to one line of limited length.
func words(said []string, between string) string {
	text := []rune(strings.Map(func(r rune) rune {
		if unicode.IsPrint(r) {
			return r
		}
		return ' '
	}, strings.ToValidUTF8(strings.Join(said, between), "\uFFFD")))
	if len(text) > longestWords {
		return string(text[:longestWords]) + "\u2026"
	}
	return string(text)
}

// question says what the server is asked for: which jobs, or one job by its number; with neither, the printer.
type question struct {
	operation uint16
	wanted    []string
	which     string
	job       int
}

// ask puts one question to the server and reads its answer.
func (q *Queue) ask(ctx context.Context, about question) (_ []group, err error) {
	ctx, cancel := context.WithTimeout(ctx, askLimit)
	defer cancel()
	if q.server == "" {
		if q.server, err = run(ctx, askLimit, "lpstat", "-H"); err != nil {
			return nil, err
		}
	}
	server := q.server
	me := "anonymous"
	if u, err := user.Current(); err == nil {
		me = u.Username
	}
	var b bytes.Buffer
	binary.Write(&b, binary.BigEndian, struct { //nolint:errcheck // into memory
		Major, Minor byte
		Operation    uint16
		ID           uint32
		Group        byte
	}{2, 0, about.operation, 1, groupOperation})
	value := func(tag byte, name, text string) {
		b.WriteByte(tag)
		for _, s := range []string{name, text} {
			binary.Write(&b, binary.BigEndian, uint16(len(s))) //nolint:errcheck // into memory
			b.WriteString(s)
		}
	}
	value(tagCharset, "attributes-charset", "utf-8")
	value(tagLanguage, "attributes-natural-language", "en")
	value(tagURI, "printer-uri", "ipp://localhost/printers/"+q.Name)
	if about.job > 0 {
		value(tagInteger, "job-id", string(binary.BigEndian.AppendUint32(nil, uint32(about.job))))
	}
	value(tagName, "requesting-user-name", me)
	if about.which != "" {
		value(tagKeyword, "which-jobs", about.which)
	}
	name := "requested-attributes"
	for _, w := range about.wanted {
		value(tagKeyword, name, w)
		name = "" // further values of the same attribute
	}
	b.WriteByte(groupEnd)

	// A redirect is not followed: it could lead to any address.
	host, client := server, &http.Client{Transport: &http.Transport{DisableKeepAlives: true},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	if strings.HasPrefix(server, "/") {
		host = "localhost"
		client.Transport = &http.Transport{DisableKeepAlives: true, DialContext: func(ctx context.Context, _, _ string) (net.Conn, error) {
			var d net.Dialer
			return d.DialContext(ctx, "unix", server)
		}}
	} else if _, _, err := net.SplitHostPort(server); err != nil {
		host = net.JoinHostPort(server, "631")
	}
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, "http://"+host+"/printers/"+q.Name, &b)
	if err != nil {
		return nil, err
	}
	r.Header.Set("Content-Type", "application/ipp")
	resp, err := client.Do(r)
	if err != nil {
		q.server = "" // it may be elsewhere after a restart: the socket or the port
		return nil, fmt.Errorf("the print system does not answer: %w", err)
	}
	defer resp.Body.Close() //nolint:errcheck // only read
	data, err := io.ReadAll(io.LimitReader(resp.Body, largestAnswer+1))
	switch {
	case err != nil:
		return nil, fmt.Errorf("the print system does not answer: %w", err)
	case len(data) > largestAnswer:
		return nil, fmt.Errorf("the print system's answer is longer than %d bytes", largestAnswer)
	}
	if resp.StatusCode != http.StatusOK {
		return nil, fmt.Errorf("the print system answers %s", words([]string{resp.Status}, ""))
	}
	return answer(data)
}

var errCut = errors.New("the print system's answer is cut off")

// answer reads the bytes of an answer.
func answer(data []byte) ([]group, error) {
	if len(data) < 8 {
		return nil, errCut
	}
	status := binary.BigEndian.Uint16(data[2:])
	if status == statusNotFound {
		return nil, errNotFound
	}
	if status > 0x00FF {
		return nil, fmt.Errorf("the print system answers with IPP status 0x%04x", status)
	}
	var out []group
	last := ""
	for data = data[8:]; len(data) > 0; {
		tag := data[0]
		data = data[1:]
		if tag == groupEnd {
			return out, nil
		}
		if tag < 0x10 {
			if len(out) == mostGroups {
				return nil, fmt.Errorf("the print system's answer tells of more than %d things", mostGroups)
			}
			out, last = append(out, group{tag, map[string][]string{}, map[string]int{}}), ""
			continue
		}
		var parts [2][]byte
		for i := range parts {
			if len(data) < 2 {
				return nil, errCut
			}
			n := int(binary.BigEndian.Uint16(data))
			if len(data) < 2+n {
				return nil, errCut
			}
			parts[i], data = data[2:2+n], data[2+n:]
		}
		if len(parts[0]) > 0 {
			last = string(parts[0])
		}
		switch g := len(out) - 1; {
		case g < 0:
			return nil, errCut
		case (tag == tagInteger || tag == tagEnum) && len(parts[1]) == 4:
			out[g].ints[last] = int(int32(binary.BigEndian.Uint32(parts[1])))
		default:
			out[g].texts[last] = append(out[g].texts[last], string(parts[1]))
		}
	}
	return nil, errCut
}

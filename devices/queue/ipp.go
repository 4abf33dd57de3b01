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
	"time"
)

// What is asked and how it is written, by RFC 8010 (encoding) and RFC 8011 (operations, tags).
const (
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
	largestAnswer        = 64 << 20 // bytes
)

// group is what an answer tells of one thing: attribute to values.
type group struct {
	tag   byte
	texts map[string][]string
	ints  map[string]int
}

// Jobs are the queue's jobs, those that have ended as well, as long as it remembers them.
func (q Queue) Jobs(ctx context.Context) ([]Job, error) {
	all, err := q.ask(ctx, getJobs, []string{"job-id", "job-name", "job-state", "job-printer-state-message"}, "all")
	if err != nil {
		return nil, err
	}
	var out []Job
	for _, g := range all {
		if g.tag == groupJob {
			out = append(out, Job{ID: g.ints["job-id"], Title: strings.Join(g.texts["job-name"], ""), State: JobState(g.ints["job-state"]), Says: strings.Join(g.texts["job-printer-state-message"], "; ")})
		}
	}
	return out, nil
}

// Printer asks how the printer is.
func (q Queue) Printer(ctx context.Context) (Printer, error) {
	all, err := q.ask(ctx, getPrinterAttributes, []string{"printer-state", "printer-state-message", "printer-state-reasons", "media-supported"}, "")
	if err != nil {
		return Printer{}, err
	}
	var p Printer
	for _, g := range all {
		if s, ok := g.ints["printer-state"]; ok {
			reasons := slices.DeleteFunc(append(g.texts["printer-state-message"], g.texts["printer-state-reasons"]...), func(s string) bool { return s == "" || s == "none" })
			p = Printer{Stopped: s == printerStopped, Says: strings.Join(reasons, ", "), Media: g.texts["media-supported"]}
		}
	}
	return p, nil
}

// ask puts one question to the server and reads its answer.
func (q Queue) ask(ctx context.Context, operation uint16, wanted []string, which string) ([]group, error) {
	ctx, cancel := context.WithTimeout(ctx, 20*time.Second)
	defer cancel()
	server, err := run(ctx, "lpstat", "-H")
	if err != nil {
		return nil, err
	}
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
	}{2, 0, operation, 1, groupOperation})
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
	value(tagName, "requesting-user-name", me)
	if which != "" {
		value(tagKeyword, "which-jobs", which)
	}
	name := "requested-attributes"
	for _, w := range wanted {
		value(tagKeyword, name, w)
		name = "" // further values of the same one
	}
	b.WriteByte(groupEnd)

	host, client := server, &http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
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
		return nil, fmt.Errorf("the print system does not answer: %w", err)
	}
	defer resp.Body.Close() //nolint:errcheck // only read
	data, err := io.ReadAll(io.LimitReader(resp.Body, largestAnswer))
	if err != nil {
		return nil, err
	}
	if resp.StatusCode != http.StatusOK {
		return nil, fmt.Errorf("the print system answers %s", resp.Status)
	}
	return q.answer(data)
}

var errCut = errors.New("the print system's answer is cut off")

// answer takes the bytes of an answer apart.
func (q Queue) answer(data []byte) ([]group, error) {
	if len(data) < 8 {
		return nil, errCut
	}
	status := binary.BigEndian.Uint16(data[2:])
	if status == 0x0406 {
		return nil, fmt.Errorf("the print system has no queue %q; `lpstat -e` lists its queues", q.Name)
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
			out = append(out, group{tag, map[string][]string{}, map[string]int{}})
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

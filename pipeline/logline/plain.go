// Package logline opens the log of a workroom, and writes it as people read it on a console.
package logline

import (
	"fmt"
	"io"
	"strings"
	"time"

	"go.uber.org/zap/zapcore"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
)

// plainCore writes the log's lines for people: when, in which stage, of which device, job and file,
// what, and the figures with their units.
//
//	10:03:26  send  roll-plotter, job 7, odd.svg: done; 3 pieces, 11.69 m, 7671 bytes, 0.8 s
type plainCore struct {
	zapcore.LevelEnabler
	out    zapcore.WriteSyncer
	fields []zapcore.Field
}

// newPlainCore is a core that writes plain lines, from a level on.
func newPlainCore(out io.Writer, level zapcore.LevelEnabler) zapcore.Core {
	return &plainCore{LevelEnabler: level, out: zapcore.Lock(zapcore.AddSync(out))}
}

// With gives a core whose lines carry further fields.
func (c *plainCore) With(fields []zapcore.Field) zapcore.Core {
	all := append(append([]zapcore.Field(nil), c.fields...), fields...)
	return &plainCore{LevelEnabler: c.LevelEnabler, out: c.out, fields: all}
}

// Check adds this core where the level asks for it.
func (c *plainCore) Check(e zapcore.Entry, ce *zapcore.CheckedEntry) *zapcore.CheckedEntry {
	if c.Enabled(e.Level) {
		return ce.AddCore(e, c)
	}
	return ce
}

// Write writes one entry.
func (c *plainCore) Write(e zapcore.Entry, fields []zapcore.Field) error {
	all := append(append([]zapcore.Field(nil), c.fields...), fields...)
	_, err := c.out.Write([]byte(plainLine(e, all)))
	return err
}

// Sync hands on what the console holds back.
func (c *plainCore) Sync() error { return c.out.Sync() }

func plainLine(e zapcore.Entry, fields []zapcore.Field) string {
	values := zapcore.NewMapObjectEncoder()
	var order []string
	for _, f := range fields {
		if _, twice := values.Fields[f.Key]; !twice {
			order = append(order, f.Key)
		}
		f.AddTo(values)
	}
	var b strings.Builder
	b.WriteString(e.Time.Format("15:04:05"))
	switch e.Level {
	case zapcore.InfoLevel:
	case zapcore.WarnLevel:
		b.WriteString("  warning")
	default:
		b.WriteString("  " + e.Level.String())
	}
	if stage, ok := values.Fields["stage"]; ok {
		fmt.Fprintf(&b, "  %s", stage)
	}
	b.WriteString("  " + pattern.Printable(subject(values.Fields)+e.Message))
	var figures, below []string
	for _, key := range order {
		text, more := figure(key, values.Fields[key])
		switch {
		case text == "":
		case key == "reason" || key == "error":
			b.WriteString(": " + pattern.Printable(text))
		default:
			figures = append(figures, pattern.Printable(text))
		}
		below = append(below, more...)
	}
	if len(figures) > 0 {
		b.WriteString("; " + strings.Join(figures, ", "))
	}
	for _, line := range below {
		b.WriteString("\n          " + pattern.Printable(line))
	}
	b.WriteByte('\n')
	return b.String()
}

// subject is what a line is about: device, job and file.
func subject(values map[string]any) string {
	var about []string
	if v, ok := values["device"]; ok {
		about = append(about, fmt.Sprint(v))
	}
	if v, ok := values["job"]; ok {
		about = append(about, fmt.Sprintf("job %d", v))
	}
	if v, ok := values["file"]; ok {
		about = append(about, fmt.Sprint(v))
	}
	if len(about) == 0 {
		return ""
	}
	return strings.Join(about, ", ") + ": "
}

// figure tells one value with its unit; what takes more than a line comes as lines of its own.
func figure(key string, v any) (text string, below []string) {
	switch v := v.(type) {
	case []any:
		words := make([]string, len(v))
		for i, w := range v {
			words[i] = fmt.Sprint(w)
		}
		if key == "cautions" {
			return "", words
		}
		return fmt.Sprintf("%s %s", key, strings.Join(words, " ")), nil
	case time.Duration:
		return fmt.Sprintf("%s %s", spaced(key), v), nil
	case string:
		// Only what this program words itself may take lines: the faults of a workroom file, a stack.
		if lines := strings.Split(strings.TrimRight(v, "\n"), "\n"); len(lines) > 1 && (key == "error" || key == "stack") {
			return "", lines
		}
	}
	switch key {
	case "stage", "device", "job", "file", "disk_full": // told elsewhere in the line
		return "", nil
	case "reason", "error":
		return fmt.Sprint(v), nil
	case "state":
		if state := ledger.State(fmt.Sprint(v)); state != ledger.Completed { // the line says done by itself
			return state.Plain(), nil
		}
		return "", nil
	case "pieces", "bytes", "findings", "jobs":
		if fmt.Sprint(v) == "0" {
			return "", nil
		}
		return fmt.Sprintf("%d %s", v, key), nil
	case "metres":
		return fmt.Sprintf("%.2f m", v), nil
	case "seconds":
		return fmt.Sprintf("%.1f s", v), nil
	case "of_bytes":
		return fmt.Sprintf("of %d bytes", v), nil
	case "from_block":
		if fmt.Sprint(v) == "0" {
			return "", nil
		}
	}
	if fmt.Sprint(v) == "" || v == false {
		return "", nil
	}
	return fmt.Sprintf("%s %v", spaced(key), v), nil
}

func spaced(key string) string { return strings.ReplaceAll(key, "_", " ") }

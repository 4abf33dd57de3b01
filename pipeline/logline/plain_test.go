package logline

import (
	"bytes"
	"errors"
	"strings"
	"testing"
	"time"

	"go.uber.org/zap"
	"go.uber.org/zap/zapcore"

	"tracewheel/pipeline/pattern"
)

// plain writes one entry as people read it.
func plain(level zapcore.Level, about []zap.Field, msg string, fields ...zap.Field) string {
	var b bytes.Buffer
	clock := fixedClock(time.Date(2026, 3, 1, 9, 5, 7, 0, time.UTC))
	zap.New(newPlainCore(&b, zapcore.InfoLevel), zap.WithClock(clock)).With(about...).Log(level, msg, fields...)
	return b.String()
}

type fixedClock time.Time

func (c fixedClock) Now() time.Time                         { return time.Time(c) }
func (c fixedClock) NewTicker(d time.Duration) *time.Ticker { return time.NewTicker(d) }

func TestPlainLines(t *testing.T) {
	about := []zap.Field{zap.String("device", "roll-plotter"), zap.Int64("job", 7), zap.String("stage", "send"), zap.String("file", "apron.svg")}
	for _, c := range []struct{ got, want string }{
		{plain(zapcore.InfoLevel, about, "done", zap.String("state", "completed"), zap.Int("pieces", 3), zap.Float64("metres", 11.387),
			zap.Int64("bytes", 6885), zap.Float64("seconds", 7.347)),
			"09:05:07  send  roll-plotter, job 7, apron.svg: done; 3 pieces, 11.39 m, 6885 bytes, 7.3 s\n"},
		{plain(zapcore.WarnLevel, about, "ended before its time", zap.String("state", "processing-stopped"), zap.String("reason", "the port has gone")),
			"09:05:07  warning  send  roll-plotter, job 7, apron.svg: ended before its time: the port has gone; stopped, needs you\n"},
		{plain(zapcore.InfoLevel, nil, "ready", zap.Strings("devices", []string{"a", "b"}), zap.String("reason", "")),
			"09:05:07  ready; devices a b\n"},
		{plain(zapcore.ErrorLevel, nil, "not taken over", zap.Error(errors.New("w.yaml:1:1: x\nw.yaml:2:1: y"))),
			"09:05:07  error  not taken over\n          w.yaml:1:1: x\n          w.yaml:2:1: y\n"},
		{plain(zapcore.DebugLevel, nil, "not asked for"), ""},
	} {
		if c.got != c.want {
			t.Errorf("got  %q\nwant %q", c.got, c.want)
		}
	}
}

// TestPlainLinesObeyNobody: what a file or a device is called never steers a terminal nor begins a line
// of its own. ECMA-48 names the control characters (C0, C1); UAX #9 those that turn the direction.
func TestPlainLinesObeyNobody(t *testing.T) {
	hostile := "a\x1b[31m\x03\nb\u009b2J\u202ec\x7f\xff [x](y)?!~ \u00c4rmel \u8896"
	line := plain(zapcore.InfoLevel, []zap.Field{zap.String("file", hostile)}, "taken", zap.String("reason", hostile), zap.String("style", hostile))
	if strings.Count(line, "\n") != 1 {
		t.Errorf("%q", line)
	}
	if strings.ContainsAny(line, "\x1b\x03\u009b\u202e\x7f") || strings.Contains(line, "\xff") {
		t.Errorf("%q", line)
	}
	if !strings.Contains(line, "[x](y)?!~ \u00c4rmel \u8896") {
		t.Errorf("%q", line)
	}
	if got := pattern.Printable("zero\u200dwidth\u200c joiners\u00a0stay"); got != "zero\u200dwidth\u200c joiners stay" {
		t.Errorf("%q", got)
	}
}

// Package asker keeps in a context who asks for a wish. It takes what the system or the page knows of a person and the
// name that the person gives, and gives the words by which the history and the log name them.
package asker

import (
	"context"
	"fmt"
	"strings"
	"unicode/utf8"

	"go.uber.org/zap"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
)

// whoKey is the context's key for the person who asks.
type whoKey struct{}

// ByLogin notes the login name of the person who asks, as the system tells it, empty where it does not, and the name
// that the person gave, empty for none. Only the login name is proved.
func ByLogin(ctx context.Context, login, called string) context.Context {
	if login != "" {
		login = "login " + login
	}
	who := said(login, called)
	if who == "" {
		return ctx
	}
	return context.WithValue(ctx, whoKey{}, who)
}

// said puts the name that a person gave, in quotes, behind what is known. Quotes and brackets in the name are
// replaced, so that it cannot end those around it.
func said(known, called string) string {
	if called == "" {
		return known
	}
	called = `"` + strings.NewReplacer("(", "[", ")", "]", `"`, "'").Replace(called) + `"`
	if known == "" {
		return "calls themselves " + called
	}
	return known + ", " + called
}

// longestName is the most characters of a given name.
const longestName = 60

// Name checks a name that a person gave and gives it without blanks around it; it is refused where it could not stand
// in a line of the history.
func Name(given string) (string, error) {
	name := strings.TrimSpace(given)
	switch {
	case pattern.Printable(name) != name:
		return "", fmt.Errorf("a name is printable characters on one line, not %q", name)
	case utf8.RuneCountInString(name) > longestName:
		return "", fmt.Errorf("a name has at most %d characters, and this one has %d", longestName, utf8.RuneCountInString(name))
	}
	return name, nil
}

// OnPage is how a person who asks on a page is called, by the name given there, empty for none.
func OnPage(who string) string { return said("on the page", who) }

// ByPage notes that a page asks, and the name that a person gave there, empty for none.
func ByPage(ctx context.Context, who string) context.Context {
	return context.WithValue(ctx, whoKey{}, OnPage(who))
}

// wished gives the log's words for a wish that was met, by its verb.
var wished = map[string]string{"hold": "held by a person", "release": "released by a person", "cancel": "cancel asked by a person",
	"pause": "pause asked by a person", "resume": "continued by a person", "again": "made again by a person",
	"next": "put before the others by a person", "tool-up": "released with the tool up by a person",
	"better": "a better lay asked by a person", "whole": "said to be whole by a person", "spoilt": "said to be spoilt by a person", "seen": "seen by a person"}

// LogWish writes one line into the log for a wish that was met: the wish, the job and who asked.
func LogWish(ctx context.Context, log *zap.Logger, verb string, job int64) {
	text := wished[verb]
	if text == "" {
		return
	}
	log.Info(text, Fields(ctx, zap.Int64("job", job))...)
}

// LogChanged writes one line into the log for a pen or blade that a person changed.
func LogChanged(ctx context.Context, log *zap.Logger, device string) {
	log.Info("pen or blade changed by a person", Fields(ctx, zap.String("device", device))...)
}

// Fields gives the log fields of a wish, with who asked where that is known.
func Fields(ctx context.Context, about ...zap.Field) []zap.Field {
	fields := append([]zap.Field{zap.String("stage", "control")}, about...)
	if who, _ := ctx.Value(whoKey{}).(string); who != "" {
		fields = append(fields, zap.String("who", who))
	}
	return fields
}

// demoKey is the context's key for wishes of the demo.
type demoKey struct{}

// ByDemo marks wishes of the demo, whose pretend machines move without a person: the history then does not say that a
// person released a job.
func ByDemo(ctx context.Context) context.Context { return context.WithValue(ctx, demoKey{}, true) }

// IsDemo tells whether the demo asks.
func IsDemo(ctx context.Context) bool { return ctx.Value(demoKey{}) != nil }

// Sign adds who asked to a line of the history.
func Sign(ctx context.Context, text string) string {
	who, _ := ctx.Value(whoKey{}).(string)
	switch {
	case who == "":
		return text
	case text == "":
		return who
	}
	return text + " (" + who + ")"
}

// SignStep signs a step that goes into the history.
func SignStep(ctx context.Context, fn func(j *ledger.Job) (ledger.Step, error)) func(j *ledger.Job) (ledger.Step, error) {
	return func(j *ledger.Job) (ledger.Step, error) {
		step, err := fn(j)
		if step.Kind != "" {
			step.Text = Sign(ctx, step.Text)
		}
		return step, err
	}
}

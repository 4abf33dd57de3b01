package control

import (
	"context"

	"tracewheel/pipeline/ledger"
)

// whoKey keeps in a context who asks.
type whoKey struct{}

// ByLogin notes the login name of who asks, as the system tells it; empty where it does not.
func ByLogin(ctx context.Context, login string) context.Context {
	if login == "" {
		return ctx
	}
	return context.WithValue(ctx, whoKey{}, "login "+login)
}

// OnPage is how a person who asks on a page is called, by the name given there, empty for none.
func OnPage(who string) string {
	if who == "" {
		return "on the page"
	}
	return "on the page, " + who
}

// ByPage notes that a page asks, and the name that a person gave there, empty for none.
func ByPage(ctx context.Context, who string) context.Context {
	return context.WithValue(ctx, whoKey{}, OnPage(who))
}

// demoKey keeps in a context that the demo asks.
type demoKey struct{}

// ByDemo marks wishes of the demo, whose pretend machines move without a person: the history does not
// say that a person let a job go.
func ByDemo(ctx context.Context) context.Context { return context.WithValue(ctx, demoKey{}, true) }

func byDemo(ctx context.Context) bool { return ctx.Value(demoKey{}) != nil }

// signed adds to a line of the history who asked for it.
func signed(ctx context.Context, text string) string {
	who, _ := ctx.Value(whoKey{}).(string)
	switch {
	case who == "":
		return text
	case text == "":
		return who
	}
	return text + " (" + who + ")"
}

// signedStep signs a step that goes into the history.
func signedStep(ctx context.Context, fn func(j *ledger.Job) (ledger.Step, error)) func(j *ledger.Job) (ledger.Step, error) {
	return func(j *ledger.Job) (ledger.Step, error) {
		step, err := fn(j)
		if step.Kind != "" {
			step.Text = signed(ctx, step.Text)
		}
		return step, err
	}
}

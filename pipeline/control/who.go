package control

import (
	"context"

	"tracewheel/pipeline/ledger"
)

// loginKey keeps in a context who asks.
type loginKey struct{}

// by notes the login name of who asks, as the system tells it; empty where it does not.
func by(ctx context.Context, login string) context.Context {
	if login == "" {
		return ctx
	}
	return context.WithValue(ctx, loginKey{}, login)
}

// demoKey keeps in a context that the demo asks.
type demoKey struct{}

// ByDemo marks wishes of the demo, whose pretend machines move without a person: the history does not
// say that a person let a job go.
func ByDemo(ctx context.Context) context.Context { return context.WithValue(ctx, demoKey{}, true) }

func byDemo(ctx context.Context) bool { return ctx.Value(demoKey{}) != nil }

// signed adds to a line of the history who asked for it.
func signed(ctx context.Context, text string) string {
	login, _ := ctx.Value(loginKey{}).(string)
	switch {
	case login == "":
		return text
	case text == "":
		return "login " + login
	}
	return text + " (login " + login + ")"
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

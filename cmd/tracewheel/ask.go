package main

import (
	"bufio"
	"fmt"
	"os"
	"strings"

	"golang.org/x/term"

	"tracewheel/pipeline/testsquare"
)

// terminal tells whether a person can be asked.
func (a *app) terminal() bool {
	f, ok := a.in.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

// lines reads what a person types, always through one buffer.
func (a *app) lines() *bufio.Reader {
	if a.typed == nil {
		a.typed = bufio.NewReader(a.in)
	}
	return a.typed
}

// confirm asks for yes on a terminal; where nobody sits the answer is no.
func (a *app) confirm(question string) bool {
	if !a.terminal() {
		return false
	}
	fmt.Fprintf(a.out, "%s (yes or no) ", question)
	line, err := a.lines().ReadString('\n')
	return err == nil && strings.EqualFold(strings.TrimSpace(line), "yes")
}

// ask prints a question and reads the answer, without blanks around it.
func (a *app) ask(question string) (string, error) {
	fmt.Fprint(a.out, question+" ")
	line, err := a.lines().ReadString('\n')
	return strings.TrimSpace(line), err
}

// asker is the person at the terminal, for the readings of a test square.
func (a *app) asker() testsquare.Asker {
	return testsquare.Asker{Ask: a.ask, Say: a.done, Out: a.out}
}

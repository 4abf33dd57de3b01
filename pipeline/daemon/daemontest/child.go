package daemontest

import (
	"bufio"
	"context"
	"fmt"
	"os"

	"tracewheel/pipeline/daemon"
)

// RunChild runs a daemon until the parent ends or kills this process.
func RunChild(set daemon.Settings, opts daemon.Options) {
	d, err := daemon.New(context.Background(), set, opts)
	if err == nil {
		err = d.Start(context.Background())
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "crash child:", err)
		os.Exit(1)
	}
	// The parent's end of this pipe closes when it ends, however it ends.
	_, _ = bufio.NewReader(os.Stdin).ReadString('\n')
	if err := d.Stop(context.Background()); err != nil {
		fmt.Fprintln(os.Stderr, "crash child:", err)
		os.Exit(1)
	}
}

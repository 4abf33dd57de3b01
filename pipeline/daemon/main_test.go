package daemon_test

import (
	"os"
	"testing"

	"go.uber.org/goleak"
)

func TestMain(m *testing.M) {
	if os.Getenv(crashChild) != "" {
		runCrashChild()
		return
	}
	goleak.VerifyTestMain(m)
}

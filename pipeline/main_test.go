package pipeline

import (
	"os"
	"testing"

	"go.uber.org/goleak"
)

func TestMain(m *testing.M) {
	if os.Getenv(faultChild) != "" {
		runFaultChild()
		return
	}
	goleak.VerifyTestMain(m)
}

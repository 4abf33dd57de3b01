//go:build !unix

package hooks

import "os/exec"

func closeInherited() {}

func ownGroup(*exec.Cmd) {}

func killGroup(c *exec.Cmd) error { return c.Process.Kill() }

package child

import (
	"os/exec"
	"syscall"
)

// endWithParent asks for SIGQUIT, an immediate end to the servers we start.
func endWithParent(cmd *exec.Cmd) {
	if cmd.SysProcAttr == nil {
		cmd.SysProcAttr = &syscall.SysProcAttr{}
	}
	cmd.SysProcAttr.Pdeathsig = syscall.SIGQUIT
}

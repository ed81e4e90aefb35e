// Package child starts programs for tests that end when the test process ends,
// even when that is killed (on Linux).
package child

import (
	"os/exec"
	"runtime"
)

// Start starts cmd. The channel is closed when the program has ended and was
// waited for; cmd.ProcessState then tells how.
func Start(cmd *exec.Cmd) (exited <-chan struct{}, err error) {
	endWithParent(cmd)
	started, done := make(chan error), make(chan struct{})
	go func() {
		// The signal for a dead parent is sent when the thread that started
		// the child ends (prctl(2), PR_SET_PDEATHSIG), so that thread stays.
		runtime.LockOSThread()
		defer runtime.UnlockOSThread()
		defer close(done)
		err := cmd.Start()
		started <- err
		if err == nil {
			_ = cmd.Wait() // what it means stands in cmd.ProcessState
		}
	}()
	return done, <-started
}

package pgtest

import (
	"fmt"
	"os"
	osexec "os/exec"
	"os/user"
	"strconv"
	"syscall"
)

// command prepares a program that works in folder, as postgres when we are
// root.
func command(folder, path string, args ...string) (*osexec.Cmd, error) {
	cmd := osexec.Command(path, args...)
	cmd.Dir = folder
	cmd.Env = append(os.Environ(), "LC_ALL=C", "HOME="+folder)
	if os.Getuid() != 0 {
		return cmd, nil
	}
	uid, gid, err := postgres()
	if err != nil {
		return nil, err
	}
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}}
	return cmd, nil
}

// handOver gives a path to the user that the server runs as.
func handOver(path string) error {
	if os.Getuid() != 0 {
		return nil
	}
	uid, gid, err := postgres()
	if err != nil {
		return err
	}
	return os.Chown(path, uid, gid)
}

// postgres looks the user up that Debian's package makes.
func postgres() (uid, gid int, err error) {
	u, err := user.Lookup("postgres")
	if err != nil {
		return 0, 0, fmt.Errorf("PostgreSQL does not run as root: %w", err)
	}
	if uid, err = strconv.Atoi(u.Uid); err != nil {
		return 0, 0, err
	}
	gid, err = strconv.Atoi(u.Gid)
	return uid, gid, err
}

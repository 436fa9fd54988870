package pgtest

import "syscall"

// attributes are those of a program that runs as a user and group (nil: ours), and is told to stop
// when the tests are killed.
func attributes(as *[2]uint32) *syscall.SysProcAttr {
	a := &syscall.SysProcAttr{Pdeathsig: syscall.SIGQUIT}
	if as != nil {
		a.Credential = &syscall.Credential{Uid: as[0], Gid: as[1]}
	}
	return a
}

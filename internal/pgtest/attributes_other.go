//go:build !linux

package pgtest

import "syscall"

// attributes are those of a program that runs as we do: tests run as root on Linux alone.
func attributes(*[2]uint32) *syscall.SysProcAttr { return &syscall.SysProcAttr{} }

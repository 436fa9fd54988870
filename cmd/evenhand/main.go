// Evenhand listens to a digital piano and says how a scale, an arpeggio or an exercise went: which
// notes were wrong, how even, how steady and how loud it was against what was asked.
//
// See evenhand --help.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	status := run(ctx, os.Stdin, os.Stdout, os.Stderr, os.Args[1:])
	stop()
	os.Exit(status)
}

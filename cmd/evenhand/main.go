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
	ctx, stop := signal.NotifyContext(context.Background(), endings()...)
	// Who asks for the end twice does not want to wait: the second signal ends the program at once.
	context.AfterFunc(ctx, stop)
	// A reader that has gone away shows as a fault of writing, so that a take can still be kept.
	signal.Ignore(syscall.SIGPIPE)
	os.Exit(run(ctx, os.Stdin, os.Stdout, os.Stderr, os.Args[1:]))
}

// endings are the signals that end a take in good order, less those that the program was started to
// disregard.
func endings() []os.Signal {
	var all []os.Signal
	for _, s := range []os.Signal{os.Interrupt, syscall.SIGTERM, syscall.SIGHUP} {
		if !signal.Ignored(s) {
			all = append(all, s)
		}
	}
	return all
}

package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"
	"time"
)

// grace is what a command has to come to its end when it is told to stop; then
// it is ended, whatever it is doing.
const grace = 1500 * time.Millisecond

// untilStopped gives a context that ends at SIGINT or SIGTERM, and then the exit
// status that shells give a program ended so: 128 and the signal's number
// (POSIX.1-2017, Shell and Utilities, 2.8.2). Parsers and estimators do not look
// at the context everywhere, so that a second signal, or a while without an end,
// ends the program here: what it was writing is taken away first.
func untilStopped(errOut io.Writer) (context.Context, <-chan int) {
	ctx, cancel := context.WithCancel(context.Background())
	stopped := make(chan int, 1)
	signals := make(chan os.Signal, 2)
	signal.Notify(signals, os.Interrupt, syscall.SIGTERM)
	go func() {
		status := 128 + int(syscall.SIGTERM)
		if <-signals == os.Interrupt {
			status = 128 + int(syscall.SIGINT)
		}
		stopped <- status
		cancel()
		select {
		case <-signals:
		case <-time.After(grace):
		}
		undone.run()
		fmt.Fprintln(errOut, "\nknownwater: stopped before the end")
		os.Exit(status)
	}()
	return ctx, stopped
}

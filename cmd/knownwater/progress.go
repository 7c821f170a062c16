package main

import (
	"fmt"
	"io"
	"sync"
	"time"
)

// progress says what goes on when it takes over a second: one line that is written
// over and taken away again on a terminal, lines now and then where it was asked for
// and there is none. Whatever a command does, it speaks; a command that counts what it
// does says so by stage and show.
type progress struct {
	mu        sync.Mutex
	out       io.Writer
	silent    bool
	terminal  bool
	began     time.Time
	what      string
	done, all int
	shown     bool // a line of it stands on the terminal
	stop      chan struct{}
	told      time.Time
}

// patience is how long nothing is said; between is how often lines are written where
// they stay.
const (
	patience = time.Second
	between  = 5 * time.Second
)

// startProgress begins to look at the clock.
func startProgress(out io.Writer, terminal, asked bool) *progress {
	p := &progress{out: out, silent: !terminal && !asked, terminal: terminal, began: time.Now(), what: "working", stop: make(chan struct{})}
	if p.silent {
		return p
	}
	go func() {
		tick := time.NewTicker(patience / 4)
		defer tick.Stop()
		for {
			select {
			case <-p.stop:
				return
			case now := <-tick.C:
				p.tell(now)
			}
		}
	}()
	return p
}

// stage names what is being done, and gives what counts it.
func (p *progress) stage(what string) (show func(done, all int)) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.what, p.done, p.all = what, 0, 0
	return func(done, all int) {
		p.mu.Lock()
		defer p.mu.Unlock()
		p.done, p.all = done, all
	}
}

func (p *progress) tell(now time.Time) {
	p.mu.Lock()
	defer p.mu.Unlock()
	took := now.Sub(p.began)
	if p.silent || took < patience || !p.terminal && p.shown && now.Sub(p.told) < between {
		return
	}
	line := fmt.Sprintf("%s: %d s", p.what, int(took.Seconds()))
	if p.all > 0 {
		line = fmt.Sprintf("%s: %d of %d, %d s", p.what, p.done, p.all, int(took.Seconds()))
	}
	p.shown, p.told = true, now
	if p.terminal {
		fmt.Fprintf(p.out, "\r\033[K%s", line)
		return
	}
	fmt.Fprintln(p.out, line)
}

// clear takes the line away, because something else is to be written.
func (p *progress) clear() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.shown && p.terminal {
		fmt.Fprint(p.out, "\r\033[K")
		p.shown = false
	}
}

// end is the last of it: a server that is up, a command that is done.
func (p *progress) end() {
	p.clear()
	p.mu.Lock()
	defer p.mu.Unlock()
	if !p.silent {
		p.silent = true
		close(p.stop)
	}
}

// clearing writes what a command says after taking the line of progress away.
type clearing struct {
	to       io.Writer
	progress *progress
}

func (c clearing) Write(b []byte) (int, error) {
	c.progress.clear()
	return c.to.Write(b)
}

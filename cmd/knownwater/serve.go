package main

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"time"

	"golang.org/x/term"

	"knownwater"
	"knownwater/bench"
	"knownwater/bench/people"
	"knownwater/demo/shed"
	"knownwater/web"
	"knownwater/web/guard"
	"knownwater/wording"
)

// serveCmd opens a bench in the browser. By default nobody but this computer
// reaches it; anything wider demands a passphrase.
type serveCmd struct {
	Bench      string   `help:"The bench's file; it is made if there is none." default:"bench.db" type:"file"`
	Listen     string   `help:"Address to listen on, such as :8484 for every machine on the network. Anything but this computer demands a passphrase." default:"127.0.0.1:8484"`
	Host       []string `help:"A further name by which browsers may ask for this bench."`
	TLS        bool     `name:"tls" help:"Encrypt with a certificate of the bench's own; browsers warn once, and phones then keep their screen on."`
	Passphrase string   `name:"passphrase-file" help:"Set the passphrase from the first line of this file (- reads standard input)." type:"file"`
	Words      []string `help:"A further language, from a file of translations (knownwater words)." type:"file"`
	Copies     string   `help:"Folder for backups made from a page; by default beside the bench." type:"file"`
}

func (c *serveCmd) Run(e *env) error {
	for _, path := range c.Words { // before anything is opened: a fault in one is no half-started bench
		l, err := openWords(e, path)
		if err != nil {
			return err
		}
		wording.Add(l)
	}
	b, err := bench.Open(c.Bench, bench.Options{})
	if err != nil {
		return err
	}
	defer b.Close()
	listen := withHost(c.Listen)
	signIn := !guard.Loopback(listen)
	e.progress.end() // the bench is open, however long that took; serving has no end
	if err := c.passphrase(e, b, signIn); err != nil {
		return err
	}
	l, err := net.Listen("tcp", listen)
	if err != nil {
		return knownwater.Fault{Column: "--listen", Found: unwrapped(err), Want: "another address or port, such as 127.0.0.1:8485"}
	}
	return c.serve(e, b, l, signIn)
}

// withHost spells ":8484" out, so that it is seen to mean every address.
func withHost(listen string) string {
	if strings.HasPrefix(listen, ":") {
		return "0.0.0.0" + listen
	}
	return listen
}

func (c *serveCmd) serve(e *env, b *bench.Bench, l net.Listener, signIn bool) error {
	log := slog.New(slog.NewTextHandler(e.errOut, &slog.HandlerOptions{Level: slog.LevelInfo}))
	copies := c.Copies
	if copies == "" {
		copies = strings.TrimSuffix(c.Bench, filepath.Ext(c.Bench)) + "-copies"
	}
	o := web.Options{Listen: l.Addr().String(), Hosts: c.Host, TLS: c.TLS, SignIn: signIn, Copies: copies, Version: version, Log: log}
	o.BaseURL = guard.Address(o)
	o.Invent = func(ctx context.Context, b *bench.Bench) error { return shed.Furnish(ctx, b, version) }
	s, err := web.New(b, o)
	if err != nil {
		return err
	}
	defer s.Close()
	srv := web.HTTPServer(s.Handler())
	srv.ErrorLog = slog.NewLogLogger(log.Handler(), slog.LevelDebug)
	if c.TLS {
		cert, print, err := guard.Certificate(strings.TrimSuffix(c.Bench, filepath.Ext(c.Bench))+"-certificate.pem", guard.Names(o), time.Now())
		if err != nil {
			return err
		}
		srv.TLSConfig = &tls.Config{Certificates: []tls.Certificate{cert}, MinVersion: tls.VersionTLS12}
		fmt.Fprintf(e.out, "The certificate is the bench's own: browsers will warn. Its fingerprint begins %s; compare it before you go on.\n", print)
	}
	fmt.Fprintf(e.out, "The bench %s is at %s\n", c.Bench, o.BaseURL)
	if signIn && !c.TLS {
		fmt.Fprintln(e.out, "It is reached over plain http: whoever shares this network could read along. Use --tls on a network that others use.")
	}
	go s.Prepare(e.ctx)
	return serveUntil(e.ctx, srv, l, c.TLS)
}

// serveUntil serves until ctx ends, then lets what is under way come to its end,
// for a second: what did not by then was not acknowledged, and is not kept.
func serveUntil(ctx context.Context, srv *http.Server, l net.Listener, encrypted bool) error {
	ended := make(chan error, 1)
	go func() {
		if encrypted {
			ended <- srv.ServeTLS(l, "", "")
			return
		}
		ended <- srv.Serve(l)
	}()
	select {
	case err := <-ended:
		return fmt.Errorf("serve the bench: %w", err)
	case <-ctx.Done():
	}
	rest, cancel := context.WithTimeout(context.Background(), time.Second)
	defer cancel()
	err := srv.Shutdown(rest)
	if errors.Is(err, context.DeadlineExceeded) {
		err = srv.Close()
	}
	if err != nil {
		return fmt.Errorf("end serving: %w", err)
	}
	return nil
}

// passphrase sets the owner's passphrase where it was given, asks for one where
// it is needed and there is none, and refuses where nobody can be asked.
func (c *serveCmd) passphrase(e *env, b *bench.Bench, needed bool) error {
	if c.Passphrase != "" {
		phrase, err := firstLine(c.Passphrase, e)
		if err != nil {
			return err
		}
		return b.SetPassphrase(e.ctx, commandLine, phrase)
	}
	set, err := b.PassphraseSet(e.ctx)
	if err != nil || set || !needed {
		return err
	}
	in, isFile := e.in.(*os.File)
	if !isFile || !term.IsTerminal(int(in.Fd())) {
		return knownwater.Fault{Column: "--listen", Found: "other machines would reach this bench, and it has no passphrase",
			Want: "give one with --passphrase-file, or listen on 127.0.0.1"}
	}
	fmt.Fprint(e.errOut, english.Say("Other machines will reach this bench. Choose its owner's passphrase, at least {1} characters:", fmt.Sprint(people.ShortestPassphrase)), " ")
	if state, err := term.GetState(int(in.Fd())); err == nil { // letters shall show again when it is broken off
		defer undone.add(func() { term.Restore(int(in.Fd()), state) })()
	}
	phrase, err := term.ReadPassword(int(in.Fd()))
	fmt.Fprintln(e.errOut)
	if err != nil {
		return fmt.Errorf("read the passphrase: %w", err)
	}
	return b.SetPassphrase(e.ctx, commandLine, string(phrase))
}

func firstLine(path string, e *env) (string, error) {
	var data []byte
	var err error
	if filepath.Base(path) == "-" {
		buf := make([]byte, 2000)
		n, readErr := e.in.Read(buf)
		data, err = buf[:n], nil
		if n == 0 {
			err = readErr
		}
	} else {
		data, err = os.ReadFile(path)
	}
	if err != nil {
		return "", knownwater.Fault{File: path, Found: "the passphrase cannot be read", Want: unwrapped(err)}
	}
	line, _, _ := strings.Cut(string(data), "\n")
	return strings.TrimRight(line, "\r"), nil
}

package main

import (
	"bytes"
	"context"
	"crypto/tls"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"
)

// lines is an output that is read while it is written.
type lines struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lines) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lines) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

var address = regexp.MustCompile(`https?://\S+`)

// serving starts the command, waits for its address, and gives how to end it.
func serving(t *testing.T, args ...string) (url string, out *lines, end func() int) {
	t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	out = &lines{}
	status := make(chan int, 1)
	go func() { status <- run(ctx, append([]string{"serve"}, args...), strings.NewReader(""), out, out) }()
	end = sync.OnceValue(func() int { stop(); return <-status })
	t.Cleanup(func() { end() })
	for range 3000 { // a minute: the machine may be busy
		if url = address.FindString(out.String()); url != "" {
			return url, out, end
		}
		time.Sleep(20 * time.Millisecond)
	}
	t.Fatalf("no address was printed:\n%s", out)
	return "", nil, nil
}

func TestServe(t *testing.T) {
	file := filepath.Join(t.TempDir(), "bench.db")
	url, _, end := serving(t, "--bench", file, "--listen", "127.0.0.1:0")
	res, err := http.Get(url)
	if err != nil || res.StatusCode != http.StatusOK {
		t.Fatalf("GET %s: %v %v", url, res, err)
	}
	res.Body.Close()
	var second lines
	if got := run(context.Background(), []string{"serve", "--bench", file, "--listen", "127.0.0.1:0"}, strings.NewReader(""), &second, &second); got != exitRefused {
		t.Errorf("a second server on one file ends with %d, want %d: %s", got, exitRefused, &second)
	}
	if got := end(); got != exitDone {
		t.Errorf("ended with %d, want 0", got)
	}
}

// TestServeElsewhere holds the rule that no other machine reaches a bench
// without a passphrase.
func TestServeElsewhere(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "bench.db")
	var out lines
	if got := run(context.Background(), []string{"serve", "--bench", file, "--listen", "0.0.0.0:0"}, strings.NewReader(""), &out, &out); got != exitRefused || !strings.Contains(out.String(), "passphrase") {
		t.Fatalf("ended with %d: %s", got, &out)
	}
	short := filepath.Join(dir, "short")
	if err := os.WriteFile(short, []byte("short\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if got := run(context.Background(), []string{"serve", "--bench", file, "--listen", "127.0.0.1:0", "--passphrase-file", short}, strings.NewReader(""), &out, &out); got != exitRefused {
		t.Errorf("a short passphrase: ended with %d", got)
	}
	long := filepath.Join(dir, "long")
	if err := os.WriteFile(long, []byte("four plain words here\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	// The address stays a loopback one: tests open no port to the network.
	url, printed, _ := serving(t, "--bench", file, "--listen", "127.0.0.1:0", "--tls", "--passphrase-file", long)
	if !strings.HasPrefix(url, "https://") || !strings.Contains(printed.String(), "fingerprint") {
		t.Errorf("printed %s", printed)
	}
	client := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{InsecureSkipVerify: true}}}
	res, err := client.Get(url)
	if err != nil || res.StatusCode != http.StatusOK {
		t.Fatalf("GET %s: %v %v", url, res, err)
	}
	res.Body.Close()
}

func TestCopiesFromTheCommandLine(t *testing.T) {
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	_, _, end := serving(t, "--bench", at("bench.db"), "--listen", "127.0.0.1:0")
	var running lines
	if got := run(context.Background(), []string{"backup", at("bench.db"), at("running.db")}, strings.NewReader(""), &running, &running); got != exitDone {
		t.Errorf("a backup of a bench that is being served ends with %d: %s", got, &running)
	}
	if got := run(context.Background(), []string{"restore", at("running.db"), at("bench.db")}, strings.NewReader(""), &running, &running); got != exitRefused {
		t.Errorf("a restore over a bench that is being served ends with %d", got)
	}
	end()
	for _, args := range [][]string{{"backup", at("bench.db"), at("copy.db")}, {"restore", at("copy.db"), at("bench.db")}, {"export", at("bench.db"), at("all.zip")}, {"import", at("all.zip"), at("new.db")}} {
		var out lines
		if got := run(context.Background(), args, strings.NewReader(""), &out, &out); got != exitDone {
			t.Errorf("%v ends with %d: %s", args, got, &out)
		}
	}
	var out lines
	if got := run(context.Background(), []string{"backup", at("bench.db"), at("copy.db")}, strings.NewReader(""), &out, &out); got != exitRefused {
		t.Errorf("a backup over a file ends with %d", got)
	}
}

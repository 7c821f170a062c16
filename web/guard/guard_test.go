package guard

import (
	"fmt"
	"testing"
	"time"
)

func TestAllowedHosts(t *testing.T) {
	for host, want := range map[string]bool{"localhost:1": true, "127.0.0.1": true, "[::1]:9": true, "LOCALHOST": true, "127.0.0.1.example": false, "": false} {
		if got := allowedHosts("127.0.0.1:1", nil).allows(host); got != want {
			t.Errorf("host %q allowed: %v, want %v", host, got, want)
		}
	}
	if !allowedHosts("0.0.0.0:1", []string{"Bench.Example"}).allows("bench.example:8484") {
		t.Error("a host that the owner named is refused")
	}
}

func TestLoopback(t *testing.T) {
	for listen, want := range map[string]bool{"127.0.0.1:1": true, "localhost:1": true, "[::1]:1": true, "0.0.0.0:1": false, ":1": false, "192.0.2.1:1": false, "nonsense": false} {
		if got := Loopback(listen); got != want {
			t.Errorf("Loopback(%q) = %v, want %v", listen, got, want)
		}
	}
}

func TestLimiter(t *testing.T) {
	l := newLimiter(3, 1)
	now := time.Unix(0, 0)
	for i := range 3 {
		if !l.allow("a", now) {
			t.Fatalf("request %d was refused", i)
		}
	}
	if l.allow("a", now) {
		t.Error("the fourth at once was let through")
	}
	if !l.allow("b", now) {
		t.Error("another caller paid for the first")
	}
	if !l.allow("a", now.Add(time.Second)) {
		t.Error("after a second one more is due")
	}
	for i := range 3 * mostKeys {
		l.allow(fmt.Sprint(i), now)
	}
	if len(l.left) > mostKeys+2 {
		t.Errorf("%d callers are remembered", len(l.left))
	}
}

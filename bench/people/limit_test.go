package people

import (
	"strings"
	"testing"
	"time"
)

func TestStrangersFillNoMemory(t *testing.T) {
	l := newLimits()
	for i := range 3 * mostAddresses {
		l.allow([2]string{"x", strings.Repeat("y", i%7) + time.Duration(i).String()}, 1, time.Hour, time.Unix(0, 0))
	}
	if len(l.tries) > mostAddresses {
		t.Errorf("%d addresses remembered", len(l.tries))
	}
}

package page

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"net/http/httptest"
	"testing"
)

// Who goes on to another page before one is worked out is no fault in the log.
func TestGoneOn(t *testing.T) {
	var log bytes.Buffer
	s := &Site{Options: Options{Log: slog.New(slog.NewTextHandler(&log, nil))}}
	ctx, gone := context.WithCancel(context.Background())
	gone()
	w := httptest.NewRecorder()
	s.Fail(w, httptest.NewRequest("GET", "/trials/1/findings", nil).WithContext(ctx), fmt.Errorf("judging: %w", context.Canceled))
	if log.Len() > 0 || w.Body.Len() > 0 {
		t.Errorf("logged %q, answered %q", log.String(), w.Body.String())
	}
}

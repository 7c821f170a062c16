package web

import (
	"compress/gzip"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
)

// Text goes out smaller to whoever takes it so, and comes back the same; pictures
// and what is packed already stay as they are.
func TestCompressed(t *testing.T) {
	page := strings.Repeat("<p>known water</p>", 1000)
	for _, c := range []struct {
		accept, kind string
		zipped       bool
	}{
		{"gzip, br", "text/html; charset=utf-8", true},
		{"br, gzip;q=0.5", "application/json", true},
		{"gzip;q=0", "text/html", false},
		{"", "text/html", false},
		{"gzip", "image/png", false},
		{"gzip", "application/zip", false},
	} {
		h := compressed(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			w.Header().Set("Content-Type", c.kind)
			io.WriteString(w, page)
		}))
		r := httptest.NewRequest("GET", "/", nil)
		r.Header.Set("Accept-Encoding", c.accept)
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		if got := w.Header().Get("Content-Encoding") == "gzip"; got != c.zipped {
			t.Errorf("%+v: compressed %v", c, got)
		}
		body := io.Reader(w.Body)
		if c.zipped {
			if w.Body.Len() > len(page)/10 {
				t.Errorf("%+v: %d bytes", c, w.Body.Len())
			}
			z, err := gzip.NewReader(body)
			if err != nil {
				t.Fatal(err)
			}
			body = z
		}
		if b, err := io.ReadAll(body); err != nil || string(b) != page {
			t.Errorf("%+v: %d bytes came back, %v", c, len(b), err)
		}
	}
	h := compressed(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { w.WriteHeader(http.StatusNotModified) }))
	r := httptest.NewRequest("GET", "/", nil)
	r.Header.Set("Accept-Encoding", "gzip")
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	if w.Code != http.StatusNotModified || w.Header().Get("Content-Encoding") != "" || w.Body.Len() > 0 {
		t.Errorf("not modified: %d, %v, %d bytes", w.Code, w.Header(), w.Body.Len())
	}
}

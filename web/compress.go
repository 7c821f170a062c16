package web

import (
	"compress/gzip"
	"io"
	"net/http"
	"strings"
	"sync"
)

// compressed sends text smaller to whoever can take it so: findings with all
// their figures are ten times as large as they need to be on a phone. No page
// holds a secret beside what the caller sent, which compressing could give away.
func compressed(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !takesGzip(r.Header.Get("Accept-Encoding")) || r.Header.Get("Range") != "" {
			next.ServeHTTP(w, r)
			return
		}
		w.Header().Add("Vary", "Accept-Encoding")
		z := &zipped{ResponseWriter: w}
		defer z.close()
		next.ServeHTTP(z, r)
	})
}

func takesGzip(accepted string) bool {
	for _, c := range strings.Split(accepted, ",") {
		name, q, _ := strings.Cut(strings.TrimSpace(c), ";")
		if strings.TrimSpace(name) == "gzip" && strings.ReplaceAll(q, " ", "") != "q=0" {
			return true
		}
	}
	return false
}

// zippers are used again: a new one costs 800 kB, which a phone's “kept” would wait for.
var zippers = sync.Pool{New: func() any { return gzip.NewWriter(io.Discard) }}

// zipped decides by the first header or byte whether to compress.
type zipped struct {
	http.ResponseWriter
	z       *gzip.Writer
	decided bool
}

func (w *zipped) WriteHeader(status int) {
	if !w.decided {
		w.decided = true
		h := w.Header()
		if texts(h.Get("Content-Type")) && h.Get("Content-Encoding") == "" && status != http.StatusNoContent && status != http.StatusNotModified && status >= 200 {
			h.Set("Content-Encoding", "gzip")
			h.Del("Content-Length")
			w.z = zippers.Get().(*gzip.Writer)
			w.z.Reset(w.ResponseWriter)
		}
	}
	w.ResponseWriter.WriteHeader(status)
}

func (w *zipped) Write(b []byte) (int, error) {
	if !w.decided {
		if w.Header().Get("Content-Type") == "" {
			w.Header().Set("Content-Type", http.DetectContentType(b))
		}
		w.WriteHeader(http.StatusOK)
	}
	if w.z != nil {
		return w.z.Write(b)
	}
	return w.ResponseWriter.Write(b)
}

// Unwrap lets http.ResponseController find what is underneath.
func (w *zipped) Unwrap() http.ResponseWriter { return w.ResponseWriter }

func (w *zipped) close() {
	if w.z != nil {
		w.z.Close()
		zippers.Put(w.z)
		w.z = nil
	}
}

// texts says whether a kind of content is worth compressing.
func texts(kind string) bool {
	kind, _, _ = strings.Cut(kind, ";")
	switch kind {
	case "application/json", "application/javascript", "application/manifest+json", "image/svg+xml":
		return true
	}
	return strings.HasPrefix(kind, "text/")
}

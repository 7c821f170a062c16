package benchtest

import (
	"archive/zip"
	"bytes"
	"io"
	"testing"

	"knownwater/bench"
)

// Export is a bench as it is exported.
func Export(t *testing.T, b *bench.Bench) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := b.Export(ctx, Owner, &out); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// ImportAt imports an export into a new file.
func ImportAt(data []byte, path string) error {
	return bench.Import(ctx, bytes.NewReader(data), int64(len(data)), path)
}

// Rezip copies a zip with one file changed; nil leaves it out. Other names add.
func Rezip(t *testing.T, data []byte, name string, change func([]byte) []byte, more map[string][]byte) []byte {
	t.Helper()
	z := Must(zip.NewReader(bytes.NewReader(data), int64(len(data))))(t)
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, f := range z.File {
		text := Must(io.ReadAll(Must(f.Open())(t)))(t)
		if f.Name == name {
			if text = change(text); text == nil {
				continue
			}
		}
		Must(Must(w.Create(f.Name))(t).Write(text))(t)
	}
	for n, text := range more {
		Must(Must(w.Create(n))(t).Write(text))(t)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

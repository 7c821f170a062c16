package web

import (
	"bytes"
	"mime/multipart"
	"testing"
)

// multipartForm is the body of an import as a browser sends it.
func multipartForm(t testing.TB, name string, data []byte) (kind, body string) {
	t.Helper()
	var b bytes.Buffer
	w := multipart.NewWriter(&b)
	if err := w.WriteField("name", name); err != nil {
		t.Fatal(err)
	}
	f, err := w.CreateFormFile("file", "export.zip")
	if err != nil {
		t.Fatal(err)
	}
	f.Write(data)
	w.Close()
	return w.FormDataContentType(), b.String()
}

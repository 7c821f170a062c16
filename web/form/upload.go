package form

import (
	"encoding/base64"
	"fmt"
	"io"
	"mime"
	"mime/multipart"
	"net/http"

	"knownwater/intake"
)

// ParseUpload reads a form that may bring files. Who asks for it calls Clear
// when it is done.
func ParseUpload(r *http.Request) (*Form, error) {
	if kind, _, _ := mime.ParseMediaType(r.Header.Get("Content-Type")); kind != "multipart/form-data" {
		return Parse(r)
	}
	if err := r.ParseMultipartForm(inMemory); err != nil {
		return nil, err
	}
	return &Form{Values: r.MultipartForm.Value}, nil
}

// inMemory is how much of an upload is held in memory; more of it goes to a file.
const inMemory = 4 << 20

// Clear removes the files of an upload.
func Clear(r *http.Request) {
	if r.MultipartForm != nil {
		r.MultipartForm.RemoveAll()
	}
}

// File is a file of a form, not read yet; nil where none was chosen.
func File(r *http.Request, name string) *multipart.FileHeader {
	if r.MultipartForm == nil || len(r.MultipartForm.File[name]) == 0 {
		return nil
	}
	header := r.MultipartForm.File[name][0]
	if header.Size == 0 && header.Filename == "" {
		return nil
	}
	return header
}

// HandedIn is a table that came in: a file that was chosen just now, one that came before and goes
// along in the form, or the text, which is called name.
func HandedIn(r *http.Request, f *Form, name string) (intake.Source, error) {
	src, err := Uploaded(r, "file")
	if err != nil || src.Name != "" {
		f.Set("kept", "")
		return src, err
	}
	if f.Get("kept") != "" {
		data, err := base64.StdEncoding.DecodeString(f.Get("kept"))
		if err != nil {
			f.Reject("file", "the file did not come along whole", "choose it again")
			return intake.Source{}, nil
		}
		return intake.Source{Name: f.Get("kept_name"), Data: data}, nil
	}
	if f.Text("pasted") == "" {
		f.Reject("pasted", "nothing was pasted and no file was chosen", "paste a table with a header row, or choose a .csv or .xlsx")
	}
	return intake.Source{Name: name, Data: []byte(f.Get("pasted"))}, nil
}

// Uploaded is a file of a form; the zero Source where none was chosen.
func Uploaded(r *http.Request, name string) (intake.Source, error) {
	header := File(r, name)
	if header == nil {
		return intake.Source{}, nil
	}
	file, err := header.Open()
	if err != nil {
		return intake.Source{}, fmt.Errorf("open the upload %s: %w", header.Filename, err)
	}
	defer file.Close()
	data, err := io.ReadAll(file)
	if err != nil {
		return intake.Source{}, fmt.Errorf("read the upload %s: %w", header.Filename, err)
	}
	return intake.Source{Name: header.Filename, Data: data}, nil
}

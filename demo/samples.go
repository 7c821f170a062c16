package demo

import (
	"embed"
	"io/fs"
)

//go:embed samples
var samples embed.FS

// Sample is a file to try commands on: all invented, as everything of the demo is.
type Sample struct {
	Name string
	Data []byte
}

// Samples are files of the kinds that the demo's own trial has none of: tables with a column
// a method, points, spectra, a shelf.
func Samples() (all []Sample, err error) {
	names, err := fs.Glob(samples, "samples/*")
	if err != nil {
		return nil, err
	}
	for _, name := range names {
		data, err := samples.ReadFile(name)
		if err != nil {
			return nil, err
		}
		all = append(all, Sample{name[len("samples/"):], data})
	}
	return all, nil
}

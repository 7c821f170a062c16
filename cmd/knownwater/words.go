package main

import (
	"fmt"
	"strings"

	"knownwater/wording"
)

// english is how a terminal is spoken to, as every file.
var english *wording.Language

// wordsCmd is for whoever translates.
type wordsCmd struct {
	File string `arg:"" optional:"" help:"A file of translations to check. None: prints one to fill, with every sentence." type:"file"`
}

func (c *wordsCmd) Run(e *env) error {
	if c.File == "" {
		_, err := fmt.Fprintf(e.out, "# A sentence, a tab, what it is in the language. {1} and <1>…</1> are places: each once. See knownwater help language.\n"+
			"language\txx\tname of the language in itself\n%s", strings.ReplaceAll(wording.English, "\n", "\t\n"))
		return err
	}
	l, err := openWords(e, c.File)
	if err != nil {
		return err
	}
	all, said := l.Count()
	_, err = fmt.Fprintf(e.out, "%s (%s): %d of %d sentences are translated; the others are said in English.\n", l.Name(), l.Tag(), said, all)
	return err
}

// openWords reads a file of translations, with all its faults.
func openWords(e *env, path string) (*wording.Language, error) {
	file, err := e.source(path)
	if err != nil {
		return nil, err
	}
	l, faults := wording.Open(file.Name, file.Data)
	if faults != nil {
		return nil, faults
	}
	return l, nil
}
